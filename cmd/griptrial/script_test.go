package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"griptrial": func() {
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
		defer stop()
		code := run(ctx, os.Args[1:], &app{stdin: os.Stdin, stdout: os.Stdout, stderr: os.Stderr, now: time.Now})
		if code != 0 {
			os.Exit(code)
		}
	}})
}

// TestScripts runs the command scripts: one file a story.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/script"})
}
