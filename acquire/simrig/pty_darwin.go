package simrig

// unread asks how many bytes wait for the reader: FIONREAD of <sys/filio.h>.
const unread = 0x4004667f
