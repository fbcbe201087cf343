package main

import (
	"context"
	"os"
	"os/signal"
	"strings"
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

// TestScripts runs the command scripts: one file a story. Beside the usual
// commands `edit FILE OLD NEW` replaces a text once and `binary FILE` makes a file
// of bytes that are no text.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/script", Cmds: map[string]func(*testscript.TestScript, bool, []string){
		"edit": func(ts *testscript.TestScript, neg bool, args []string) {
			if neg || len(args) != 3 || !strings.Contains(ts.ReadFile(args[0]), args[1]) {
				ts.Fatalf("edit FILE OLD NEW: %q", args)
			}
			ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Replace(ts.ReadFile(args[0]), args[1], args[2], 1)), 0o666))
		},
		"binary": func(ts *testscript.TestScript, neg bool, args []string) {
			if neg || len(args) != 1 {
				ts.Fatalf("binary FILE: %q", args)
			}
			ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte("\x7fELF\x02\x01\x00\x00,\"\xff\xfe\n\x00\x00\n"), 0o666))
		},
	}})
}
