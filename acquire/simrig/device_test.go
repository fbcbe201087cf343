package simrig

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/wire"
)

// reading is one sample line taken apart.
type reading struct {
	seq, micros, counts int
}

// take splits what the device sent; it fails on a line whose check is wrong.
func take(t *testing.T, sent []byte) (facts map[string]string, samples []reading) {
	t.Helper()
	facts = map[string]string{}
	for line := range strings.Lines(string(sent)) {
		body, check, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "*")
		require.True(t, ok, line)
		require.Equal(t, fmt.Sprintf("%04X", wire.CRC16([]byte(strings.TrimPrefix(body, ":")))), check)
		if key, value, ok := strings.Cut(strings.TrimPrefix(body, "#"), "="); ok {
			facts[key] = value
			continue
		}
		part := strings.Split(strings.TrimPrefix(body, ":"), ",")
		require.Len(t, part, 3)
		var n [3]int
		for i := range n {
			var err error
			n[i], err = strconv.Atoi(part[i])
			require.NoError(t, err)
		}
		samples = append(samples, reading{n[0], n[1], n[2]})
	}
	return facts, samples
}

func TestDeviceSpeaksTheProtocol(t *testing.T) {
	d := NewDevice(DefaultShop(), 1)
	var sent []byte
	var due time.Duration
	for range 80 * 11 {
		sent, due = d.Next(sent)
	}
	facts, samples := take(t, sent)
	assert.Equal(t, "1", facts["proto"])
	assert.Equal(t, "80", facts["sps"])
	assert.Equal(t, "1", facts["boot"])
	assert.True(t, bytes.HasPrefix(sent, []byte("#proto=1*")), "facts come first")
	assert.Equal(t, 2, bytes.Count(sent, []byte("#ready=1*")), "at boot and after ten seconds")
	require.Len(t, samples, 880)
	assert.Equal(t, time.Duration(samples[879].micros)*time.Microsecond, due)
	for i, s := range samples {
		assert.Equal(t, i, s.seq)
		if i > 0 {
			assert.InDelta(t, 12500, s.micros-samples[i-1].micros, 500)
		}
		assert.InDelta(t, 21400, s.counts, 1000, "at rest")
	}
	d.Ask()
	sent, _ = d.Next(nil)
	assert.True(t, bytes.HasPrefix(sent, []byte("#proto=1*")))
	d.Reset()
	sent, due = d.Next(nil)
	assert.Contains(t, string(sent), "#boot=2*")
	assert.Contains(t, string(sent), ":0,50000,")
	assert.Equal(t, 50*time.Millisecond, due)
}

func TestDeviceMakesThePullsItIsAskedFor(t *testing.T) {
	shop := DefaultShop()
	shop.TieFails = 0
	d := NewDevice(shop, 2)
	require.Error(t, d.Order(Order{"soap", "1", "usual"}))
	require.NoError(t, d.Order(Order{"cross-cut serration", "2", "usual"}))
	var sent []byte
	for range 80 * 15 {
		sent, _ = d.Next(sent)
	}
	_, samples := take(t, sent)
	top := 0.0
	for _, s := range samples {
		top = max(top, shop.Cell.Force(int32(s.counts)))
	}
	truth := d.Last().Truth
	assert.InEpsilon(t, truth.PeakForce, top, 0.02)
	assert.InDelta(t, 0, shop.Cell.Force(int32(samples[len(samples)-1].counts)), 0.2, "at rest again")

	require.NoError(t, d.Repeat([]Order{{"ground steel", "1", "light"}, {"polyurethane sheet", "1", "light"}}, 2*time.Second))
	peaks, above := 0, false
	sent = sent[:0]
	for range 80 * 40 {
		sent, _ = d.Next(sent)
	}
	_, samples = take(t, sent)
	for _, s := range samples {
		f := shop.Cell.Force(int32(s.counts))
		if f > 15 && !above {
			peaks++
		}
		above = f > 15 || above && f > 2
	}
	assert.GreaterOrEqual(t, peaks, 3)
	assert.LessOrEqual(t, peaks, 6)
}

func TestServeOnAPseudoTerminal(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	path, wait, err := Serve(ctx, NewDevice(DefaultShop(), 1), SystemClock(time.Now))
	if err != nil && os.Getenv("GRIPTRIAL_REQUIRE_TOOLS") == "" {
		t.Skip(err)
	}
	require.NoError(t, err)
	port, err := os.Open(path)
	require.NoError(t, err)
	defer port.Close()
	buf := make([]byte, 4096)
	var got []byte
	for bytes.Count(got, []byte("\n:")) < 5 {
		n, err := port.Read(buf)
		require.NoError(t, err)
		got = append(got, buf[:n]...)
	}
	facts, samples := take(t, got[:bytes.LastIndexByte(got, '\n')+1])
	assert.Equal(t, "simulated cell", facts["name"])
	assert.GreaterOrEqual(t, len(samples), 4)
	stop()
	assert.NoError(t, wait())
}
