package bench_test

import (
	"os"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/acquiretest"
	"griptrial/acquire/bench"
	"griptrial/acquire/study"
	"griptrial/acquire/table"
)

func TestMain(m *testing.M) { acquiretest.Main(m) }

// Whatever step fails while a pull is recorded or saved: it is said, the pull
// before stands as it was, and when the fault is gone the same answer saves the
// pull, with every sample.
func TestBenchOnAFailingDisk(t *testing.T) {
	for _, d := range []*acquiretest.Disk{
		{Step: "mkdir", Err: syscall.EROFS},
		{Step: "open", File: ".part", Err: syscall.EROFS},
		{Step: "write", File: ".part", Err: syscall.ENOSPC, After: 40, Short: true},
		{Step: "sync", File: ".part", Err: syscall.EIO, Times: 2},
		{Step: "chmod", Err: syscall.EPERM},
		{Step: "rename", Err: syscall.EIO},
		{Step: "syncdir", File: study.TraceDir, Err: syscall.EIO, After: 1}, // the first is of opening
		{Step: "open", File: study.LedgerFile, Err: syscall.EROFS},
		{Step: "write", File: study.LedgerFile, Err: syscall.ENOSPC, Short: true},
		{Step: "sync", File: study.LedgerFile, Err: syscall.EIO, Times: 2},
	} {
		t.Run(d.Step+" "+d.File, func(t *testing.T) {
			f := folder(t)
			sum, _, _ := play(t, f, newTape().held(), agreeable)
			require.Equal(t, 1, sum.Held)
			require.NoError(t, f.Close())
			ledger, err := os.ReadFile(f.Dir() + "/" + study.LedgerFile)
			require.NoError(t, err)

			f, err = study.OpenForWritingOn(d, f.Dir(), "test")
			require.NoError(t, err)
			tries := 0
			sum, notices, _ := play(t, f, newTape().held(), func(v bench.View) (bench.Command, bool) {
				if v.Phase == bench.Judging {
					switch tries++; tries {
					case 3:
						d.Mend()
					case 6:
						t.Fatal(v.Notices)
					}
				}
				return agreeable(v)
			})
			require.Positive(t, d.Hits())
			assert.Contains(t, notices, d.Err.Error())
			assert.GreaterOrEqual(t, strings.Count(notices, "NOT SAVED: "), 1)
			assert.Equal(t, bench.Summary{Held: 1, Left: 2}, sum)
			f = whole(t, f)
			after, err := os.ReadFile(f.Dir() + "/" + study.LedgerFile)
			require.NoError(t, err)
			assert.True(t, strings.HasPrefix(string(after), string(ledger)), "the row before stands")
			require.Len(t, f.Current(), 2)
			for _, row := range f.Current() {
				file, err := os.Open(f.TracePath(row.Pull))
				require.NoError(t, err)
				trace, err := table.ReadTrace("trace", file)
				require.NoError(t, err)
				require.NoError(t, file.Close())
				require.NotEmpty(t, trace.Seq)
				for i := 1; i < len(trace.Seq); i++ {
					require.Equal(t, trace.Seq[i-1]+1, trace.Seq[i], "no sample is missing")
				}
			}
		})
	}
}
