// Command griptrial runs grip trials: it plans them, logs them, finds where
// the part slipped, compares what faced the jaws, and says how little squeeze
// will do. See the README for a walk.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	"time"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], &app{stdin: os.Stdin, stdout: os.Stdout, stderr: os.Stderr, now: time.Now, browse: openBrowser})
	stop()
	os.Exit(code)
}
