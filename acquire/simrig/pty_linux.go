package simrig

import "golang.org/x/sys/unix"

// unread asks how many bytes wait for the reader.
const unread = unix.TIOCINQ
