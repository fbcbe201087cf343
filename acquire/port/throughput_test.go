//go:build linux

package port

import (
	"errors"
	"os"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"griptrial/acquire/wire"
)

// TestTwoThousandASecond reads 2,000 samples a second, sent in real time, with
// nothing lost. GRIPTRIAL_LONG_RUN sets another length, as "10m".
func TestTwoThousandASecond(t *testing.T) {
	length := 2 * time.Second
	if text := os.Getenv("GRIPTRIAL_LONG_RUN"); text != "" {
		var err error
		length, err = time.ParseDuration(text)
		require.NoError(t, err)
	}
	const rate, batch = 2000, 10
	total := int(length.Seconds() * rate)
	d := newTerminal(t)
	p := open(t, d.path)
	go func() {
		var b []byte
		tick := time.NewTicker(time.Second * batch / rate)
		defer tick.Stop()
		for n := 0; n < total; n += batch {
			<-tick.C
			b = b[:0]
			for i := n; i < n+batch; i++ {
				b = wire.AppendSample(b, uint16(i), uint32(i)*(1e6/rate), int32(i%1000))
			}
			if _, err := d.master.Write(b); err != nil {
				return // the test ended first and says why
			}
		}
	}()
	runtime.LockOSThread() // so that the reader's own time can be told
	defer runtime.UnlockOSThread()
	r := wire.NewReader(p.Reader(t.Context()), wire.ReaderOptions{Now: time.Now})
	var before, after runtime.MemStats
	var cpuBefore, cpuAfter, own, ownAfter unix.Rusage
	start := time.Now()
	for got := 0; got < total; {
		e, err := r.Next()
		if err != nil {
			require.False(t, errors.Is(err, ErrHangUp), err)
			require.NoError(t, err)
		}
		if e.Kind != wire.KindSample {
			continue
		}
		if got++; got == total/4 {
			runtime.GC()
			runtime.ReadMemStats(&before)
			require.NoError(t, unix.Getrusage(unix.RUSAGE_SELF, &cpuBefore))
			require.NoError(t, unix.Getrusage(unix.RUSAGE_THREAD, &own))
		}
	}
	require.NoError(t, unix.Getrusage(unix.RUSAGE_SELF, &cpuAfter))
	require.NoError(t, unix.Getrusage(unix.RUSAGE_THREAD, &ownAfter))
	runtime.GC()
	runtime.ReadMemStats(&after)
	a := r.Account()
	assert.EqualValues(t, total, a.Samples)
	assert.Zero(t, a.Lost+a.Rejected+a.Duplicates)
	assert.Equal(t, 1, a.Segments)
	assert.InDelta(t, rate, *a.RateHz, 1e-6)
	assert.Less(t, int64(after.HeapAlloc)-int64(before.HeapAlloc), int64(1<<20), "memory is flat")
	share := func(after, before unix.Rusage) float64 {
		return 100 * (cpu(after) - cpu(before)).Seconds() / (0.75 * time.Since(start).Seconds())
	}
	t.Logf("%d samples in %v: the reader took %.2f %% of a core, both ends %.2f %%", total, time.Since(start).Round(time.Millisecond),
		share(ownAfter, own), share(cpuAfter, cpuBefore))
	if length >= time.Minute { // less is too coarse a measure
		assert.Less(t, share(ownAfter, own), 5.0, "percent of a core")
	}
}

func cpu(u unix.Rusage) time.Duration {
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
