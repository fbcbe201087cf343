package slip

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"

	"github.com/stretchr/testify/require"
)

// readTrace reads one simulated record with encoding/csv, so that this test
// does not depend on the program's own reader.
func readTrace(t testing.TB, name string) trial.Trace {
	t.Helper()
	raw, err := os.ReadFile(name)
	require.NoError(t, err)
	text := strings.TrimPrefix(string(raw), "\ufeff")
	c := csv.NewReader(strings.NewReader(text))
	c.Comment, c.FieldsPerRecord = '#', -1
	rows, err := c.ReadAll()
	require.NoError(t, err)
	_, tu := unit.SplitHeader(rows[0][0])
	_, fu := unit.SplitHeader(rows[0][1])
	ut, err := unit.Lookup(unit.Time, tu)
	require.NoError(t, err)
	uf, err := unit.Lookup(unit.Force, fu)
	require.NoError(t, err)
	var tr trial.Trace
	for _, row := range rows[1:] {
		a, err := strconv.ParseFloat(row[0], 64)
		require.NoError(t, err)
		b, err := strconv.ParseFloat(row[1], 64)
		require.NoError(t, err)
		tr.T = append(tr.T, ut.ToSI(a))
		tr.Force = append(tr.Force, uf.ToSI(b))
	}
	return tr
}

// accepted tells whether a result is one that a careful reader could give.
func accepted(r Result, accept string) bool {
	for _, a := range strings.Split(accept, ";") {
		word, flag, _ := strings.Cut(a, "+")
		if r.Outcome.String() == word && (flag == "" || slices.Contains(r.Flags, Flag(flag))) {
			return true
		}
	}
	return false
}

// TestFortyTraces scores the detector on the simulated records of
// testdata/traces, whose truth comes from the simulated motion.
func TestFortyTraces(t *testing.T) {
	dir := filepath.Join("..", "..", "testdata", "traces")
	f, err := os.Open(filepath.Join(dir, "truth.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 41)
	col := map[string]int{}
	for i, name := range rows[0] {
		col[name] = i
	}
	right, covered, slips := 0, 0, 0
	for _, row := range rows[1:] {
		get := func(name string) string { return row[col[name]] }
		r, err := Detect(readTrace(t, filepath.Join(dir, get("file"))), Options{})
		require.NoError(t, err)
		ok := accepted(r, get("accept"))
		if ok {
			right++
		}
		truth, err := strconv.ParseFloat(get("slip_force_N"), 64)
		dev := math.NaN()
		inside := "  "
		if err == nil && r.Outcome == trial.Slipped {
			slips++
			dev = 100 * (r.SlipForce/truth - 1)
			if r.Low <= truth && truth <= r.High {
				covered++
				inside = "in"
			}
		}
		mark := "ok "
		if !ok {
			mark = "BAD"
		}
		t.Logf("%s %s %-16s %-8s -> %-8s %-10s -> %-10s %+6.2f%% %s w %.2f%% %v %s", mark, get("file"), get("family"), get("outcome"), r.Outcome, get("kind"), r.Kind, dev, inside, 100*(r.High-r.Low)/r.SlipForce, r.Flags, get("difficulty"))
		if !ok && testing.Verbose() {
			for _, line := range r.Why(newton) {
				t.Log("      ", line)
			}
		}
	}
	t.Logf("right %d of 40; interval covers %d of %d", right, covered, slips)
	require.GreaterOrEqual(t, right, 39)
	require.GreaterOrEqual(t, covered*100, slips*88)
}

var newton, _ = unit.Lookup(unit.Force, "N")
