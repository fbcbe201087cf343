//go:build linux

package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/acquiretest"
	"griptrial/acquire/bench/page"
	"griptrial/acquire/bench/practice"
	"griptrial/acquire/simrig"
	"griptrial/acquire/study"
	"griptrial/analysis/trial"
)

// terminalPage is the terminal that a page is told on, and a browser at the vise.
type terminalPage struct {
	t      *testing.T
	mu     sync.Mutex
	said   bytes.Buffer
	told   chan string // the address of the vise, once
	client string
	states chan page.State
}

var viseAddress = regexp.MustCompile(`The bench page: (http://\S+/vise)\n`)

// Write is the terminal.
func (s *terminalPage) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.said.Write(p)
	if m := viseAddress.FindStringSubmatch(s.said.String()); m != nil && s.told != nil {
		s.told <- m[1]
		close(s.told)
		s.told = nil
	}
	return len(p), nil
}

func (s *terminalPage) text() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.said.String()
}

// atPage runs bench with its page and answers each state that comes.
func atPage(t *testing.T, args []string, browse func(string) error, answer func(page.State) *page.Command) (code int, out, said string) {
	t.Helper()
	told := make(chan string, 1)
	s := &terminalPage{t: t, told: told, states: make(chan page.State, 1000)}
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	var stdout bytes.Buffer
	ended := make(chan int)
	go func() {
		ended <- run(ctx, args, &app{stdin: strings.NewReader(""), stdout: &stdout, stderr: s, now: time.Now, browse: browse})
	}()
	var address string
	select {
	case address = <-told:
	case code := <-ended:
		return code, stdout.String(), s.text()
	}
	base := strings.TrimSuffix(address, "/vise")
	res, err := http.Get(base + "/events?page=vise")
	require.NoError(t, err)
	listened := make(chan struct{})
	go func() {
		defer close(listened)
		s.listen(res.Body)
	}()
	done := 0
	for state := range s.states {
		c := answer(state)
		if c == nil || state.Step <= done { // a state of before the latest answer
			continue
		}
		c.Client, c.Step = s.client, state.Step
		text, err := json.Marshal(c)
		require.NoError(t, err)
		req, err := http.NewRequest(http.MethodPost, base+"/command", bytes.NewReader(text))
		require.NoError(t, err)
		req.Header.Set("Origin", base)
		req.Header.Set("Content-Type", "application/json")
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			continue // the program has ended
		}
		if res.StatusCode == http.StatusOK && c.Do != "tick" {
			done = state.Step
		}
		res.Body.Close()
	}
	<-listened
	return <-ended, stdout.String(), s.text()
}

func (s *terminalPage) listen(body io.ReadCloser) {
	defer close(s.states)
	defer body.Close()
	lines := bufio.NewScanner(body)
	lines.Buffer(nil, 8<<20)
	name := ""
	for lines.Scan() {
		if event, ok := strings.CutPrefix(lines.Text(), "event: "); ok {
			name = event
		}
		data, ok := strings.CutPrefix(lines.Text(), "data: ")
		switch {
		case ok && name == "hello":
			var h page.Hello
			assert.NoError(s.t, json.Unmarshal([]byte(data), &h))
			s.client = h.Client
		case ok && name == "state":
			var v page.State
			assert.NoError(s.t, json.Unmarshal([]byte(data), &v))
			s.states <- v
		}
	}
}

// agree takes every check as good and confirms what is proposed.
func agree(s page.State) *page.Command {
	switch s.Phase {
	case "checks":
		for i, c := range s.Checks {
			if !c.Done {
				return &page.Command{Do: "tick", N: i, On: true}
			}
		}
		return &page.Command{Do: "begin"}
	case "mounting":
		if s.Cell.State == "live" {
			return &page.Command{Do: "tare"}
		}
	case "judging":
		if s.Proposal.Ask {
			return &page.Command{Do: "void", Text: "could not tell"}
		}
		return &page.Command{Do: "accept"}
	case "done":
		return &page.Command{Do: "quit"}
	}
	return nil
}

// The page opens in a browser, and a pull is practised on it.
func TestBenchPagePractice(t *testing.T) {
	dir, _, _ := benchStudy(t)
	before := content(t, dir)
	opened := ""
	code, out, said := atPage(t, []string{"bench", dir, "--practice", "--speed", "20", "--pulls", "1"},
		func(url string) error { opened = url; return nil }, agree)
	assert.Equal(t, exitOK, code, said)
	assert.Contains(t, said, "The bench page: "+opened+"\n")
	assert.Regexp(t, `^http://127\.0\.0\.1:\d+/vise$`, opened)
	assert.Contains(t, said, "To look on:     "+strings.TrimSuffix(opened, "vise")+"\n")
	assert.Contains(t, out, "saved: pull 1: ")
	assert.Contains(t, said, "1 pulls saved")
	assert.Equal(t, before, content(t, dir), "practice leaves the study as it is")
}

// A hand scale needs no port: its readings are typed on the page.
func TestBenchPageTyped(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "hooks")
	code, _, talk := command("", "new", dir, "--facing", "ground steel", "--facing", "bonded P240 cloth", "--level", "3 kg", "--unit", "kgf", "--scale", "hand", "--division", "0.5 kgf")
	require.Zero(t, code, talk)
	code, _, talk = command("", "plan", dir)
	require.Zero(t, code, talk)
	typed := 0
	code, out, said := atPage(t, []string{"bench", dir, "--no-browser"}, func(string) error { t.Error("a browser was opened"); return nil }, func(s page.State) *page.Command {
		if s.Phase != "typing" {
			return agree(s)
		}
		typed++
		return &page.Command{Do: "typed", Text: fmt.Sprintf("%d.5+ ; by hand", typed)}
	})
	assert.Equal(t, exitOK, code, said)
	f, err := study.Open(dir)
	require.NoError(t, err)
	assert.Empty(t, f.Check())
	assert.Zero(t, f.Left())
	rows := f.Current()
	assert.Len(t, rows, len(f.Plan()))
	assert.Equal(t, trial.Held, rows[0].Outcome)
	assert.Contains(t, out, "held, at least 1.5 kgf (by hand)")

	// A page that is still open from a moment ago comes back by itself.
	usual := returnIn
	returnIn = time.Minute
	defer func() { returnIn = usual }()
	code, _, said = atPage(t, []string{"bench", dir}, func(string) error { t.Error("a second page was opened"); return nil }, agree)
	assert.Equal(t, exitOK, code, said)
}

// The cable comes out in mid-pull and goes in again: the session goes on by
// itself, and the study is whole.
func TestBenchPageCableOut(t *testing.T) {
	dir, device, _ := benchStudy(t)
	plugged := acquiretest.Plug(t, device, practice.Clock(time.Now, 20), acquiretest.Faults{})
	pulls, lost, ready := 0, false, 0
	code, out, said := atPage(t, []string{"bench", dir, "--no-browser", "--port", plugged.Path(), "--calibration", filepath.Join(dir, "calibrations", "today.csv")}, nil,
		func(s page.State) *page.Command {
			switch {
			case s.Phase == "ready" && ready != s.Step:
				ready = s.Step
				assert.NoError(t, device.Order(simrig.Order{Facing: s.Next.Facing, Sample: s.Next.Sample, Level: s.Next.Level}))
			case s.Phase == "pulling" && pulls == 0:
				pulls++
				plugged.Unplug()
			case s.Cell.State == "lost" && !lost:
				lost = true
				assert.Contains(t, s.Cell.Text, "Put the cable back")
				plugged.Replug()
			}
			return agree(s)
		})
	assert.Equal(t, exitOK, code, said)
	assert.True(t, lost)
	assert.Contains(t, out, "saved: pull 1: ")
	assert.Contains(t, out, "void (incomplete: the load cell is gone")
	assert.Contains(t, said, "the load cell is there again; the session goes on")
	code, _, talk := command("", "check", dir)
	require.Zero(t, code, talk)
	f, err := study.Open(dir)
	require.NoError(t, err)
	assert.Zero(t, f.Left())
	assert.Len(t, f.Current(), 5)
}

// Another device can reach the page: the address opens once and is shown as a
// code, with another address for those who look on.
func TestBenchPageAddresses(t *testing.T) {
	var out bytes.Buffer
	tellAddresses(&out, []string{"http://192.168.1.20:7420/vise?token=01"}, []string{"http://192.168.1.20:7420/?token=02"}, true)
	assert.Contains(t, out.String(), "The bench page: http://192.168.1.20:7420/vise?token=01\n")
	assert.Contains(t, out.String(), "█▀")
	assert.Contains(t, out.String(), "This address opens once; a fresh one is shown when it was used.")
	assert.Contains(t, out.String(), "To look on:     http://192.168.1.20:7420/?token=02\n")
}
