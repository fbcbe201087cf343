package acquiretest

import (
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"
)

// leakWait is how long a goroutine may take to end after a test has.
const leakWait = 10 * time.Second

// Main runs the tests of a package and fails it if goroutines are left behind.
// Call it from TestMain.
func Main(m *testing.M) {
	code := m.Run()
	if left := Leaked(leakWait); code == 0 && len(left) > 0 {
		fmt.Fprintf(os.Stderr, "acquiretest: %d goroutines are left behind\n\n%s\n", len(left), strings.Join(left, "\n\n"))
		code = 1
	}
	os.Exit(code)
}

// Leaked waits until no goroutine is left but the caller's and those of the
// testing package, for at most the given time, and returns the stacks of the
// others.
func Leaked(atMost time.Duration) []string {
	for end := time.Now().Add(atMost); ; {
		left := others()
		if len(left) == 0 || time.Now().After(end) {
			return left
		}
		time.Sleep(time.Millisecond)
	}
}

// others are the stacks of all goroutines but this one and the testing
// package's own.
func others() []string {
	buf := make([]byte, 1<<20)
	stacks := strings.Split(strings.TrimSpace(string(buf[:runtime.Stack(buf, true)])), "\n\n")
	return slices.DeleteFunc(stacks[1:], func(s string) bool { // the first is the caller's
		for _, own := range []string{"testing.Main(", "testing.(*M)", "testing.(*T).Run(", "testing.(*F).Fuzz", "testing.runFuzz", "os/signal.signal_recv", "os/signal.loop"} {
			if strings.Contains(s, own) {
				return true
			}
		}
		return false
	})
}
