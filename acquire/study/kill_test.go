package study

import (
	"bufio"
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/acquiretest"
	"griptrial/analysis/trial"
)

// TestMain lets the test binary be a session of its own, to be killed.
func TestMain(m *testing.M) {
	if dir := os.Getenv("GRIPTRIAL_TEST_SESSION"); dir != "" {
		if err := session(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	acquiretest.Main(m)
}

// session saves pulls without end: with traces, typed, corrected and undone.
// It tells of each only once it is saved.
func session(dir string) error {
	f, err := OpenForWriting(dir, "session")
	if err != nil {
		return err
	}
	for i := 1; ; i++ {
		force := 10 + float64(i)/8
		e := Entry{Facing: "ground steel", Sample: "1", Level: "5 kg", Outcome: trial.Slipped, Force: force * kgf,
			Digits: strconv.FormatFloat(force, 'f', 3, 64), Note: strings.Repeat("words ", i%200), Time: noon}
		var pull int
		switch i % 4 {
		case 0:
			if _, err := f.Undo("to be killed", noon); err != nil {
				return err
			}
			fmt.Println("undone")
			continue
		case 1:
			pull, err = f.Append(e)
		default:
			var j *Journal
			if j, err = f.Begin(); err != nil {
				return err
			}
			for k := range 200 {
				if _, err := fmt.Fprintf(j, "%d,%.3f\n", k, force); err != nil {
					return err
				}
			}
			pull, err = j.Save(e)
		}
		if err != nil {
			return err
		}
		fmt.Printf("saved %d %s\n", pull, e.Digits)
	}
}

// kills is how many sessions are killed; GRIPTRIAL_KILLS asks for more.
func kills(t *testing.T) int {
	n := 100
	if testing.Short() {
		n = 10
	}
	if s := os.Getenv("GRIPTRIAL_KILLS"); s != "" {
		var err error
		n, err = strconv.Atoi(s)
		require.NoError(t, err)
	}
	return n
}

// Sessions are killed without warning at random moments. Every pull that was
// told as saved is there unchanged, its trace too; the study is whole or says
// what was torn; and the next session goes on.
func TestKilledSessionsLoseNothingSaved(t *testing.T) {
	const seed = 20260504
	r := rand.New(rand.NewPCG(seed, 1))
	var dir string
	inFlight := 0 // kills between two pulls' tellings that left something unfinished
	for round := range kills(t) {
		if round%10 == 0 { // go on with one study for ten sessions
			f, err := Create(filepath.Join(t.TempDir(), strconv.Itoa(round)), blanks(), "test")
			require.NoError(t, err)
			require.NoError(t, f.Close())
			dir = f.Dir()
		}
		before := ledgerOf(t, dir)
		// Every other session is killed from its start on, so that opening
		// and setting aside are hit as well.
		told := killed(t, dir, round%2 == 1, time.Duration(r.Int64N(int64(30*time.Millisecond))))

		after := ledgerOf(t, dir)
		require.True(t, bytes.HasPrefix(after, before), "round %d: what was saved before has changed", round)
		f, err := OpenForWriting(dir, "test")
		require.NoError(t, err, "round %d", round)
		if len(f.Recovered()) > 0 {
			inFlight++
		}
		byPull := map[int]Row{}
		for _, row := range f.History() {
			if row.Supersedes == 0 {
				byPull[row.Pull] = row
			}
		}
		for _, line := range told {
			var pull int
			var digits string
			if n, _ := fmt.Sscanf(line, "saved %d %s", &pull, &digits); n != 2 {
				continue
			}
			row, ok := byPull[pull]
			require.True(t, ok, "round %d: saved pull %d is lost", round, pull)
			want, err := strconv.ParseFloat(digits, 64)
			require.NoError(t, err)
			require.InDelta(t, want*kgf, row.Force, 1e-9, "round %d: pull %d", round, pull)
		}
		for _, p := range f.Check() {
			require.True(t, p.Note, "round %d: %s", round, p.Error())
		}
		require.NoError(t, f.Close())
	}
	t.Logf("seed %d: %d of the kills left a recording or a row unfinished", seed, inFlight)
}

func ledgerOf(t *testing.T, dir string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, LedgerFile))
	require.NoError(t, err)
	return b
}

// killed runs a session, kills it some time after its start or after its first
// saved pull, and returns what it told.
func killed(t *testing.T, dir string, fromStart bool, after time.Duration) []string {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "GRIPTRIAL_TEST_SESSION="+dir)
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	lines := bufio.NewScanner(out)
	var told []string
	var kill *time.Timer
	set := func() {
		if kill == nil {
			kill = time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
		}
	}
	if fromStart {
		set()
	}
	for lines.Scan() {
		told = append(told, lines.Text())
		set()
	}
	if kill != nil {
		kill.Stop()
	}
	err = cmd.Wait()
	// Only now has the session's standard error been copied to its end.
	require.NotNil(t, kill, "the session saved nothing: %s", complaints.String())
	var exit *exec.ExitError
	require.ErrorAs(t, err, &exit)
	assert.Empty(t, complaints.String(), "it was killed, not stopped by an error")
	return told
}
