package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/study"
	"griptrial/analysis/trial"
)

// madeStudy makes a study of some facings with so many pulls, in random order,
// some of them held or void; the control slips at about 100 N and each other
// facing a fifth higher than the one before.
func madeStudy(t *testing.T, dir string, facings []string, pulls int) string {
	t.Helper()
	s := trial.Study{Format: study.Format, Name: facings[len(facings)-1], Question: facings[0] + "?", Unit: "N", Plan: trial.Plan{Blocks: 1, Repeats: 1},
		Pull: trial.PullSetup{How: "straight", Faces: 2}, Scale: trial.Scale{Kind: "hand"},
		Levels: []trial.Level{{Name: "usual", Weight: 5, Usual: true}, {Name: "light", Weight: 2.5}}}
	for i, name := range facings {
		s.Facings = append(s.Facings, trial.Facing{Name: name, Control: i == 0})
	}
	f, err := study.Create(dir, s, "test")
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(3, uint64(len(facings))))
	at := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	for i := range pulls {
		k := i % len(facings)
		level := s.Levels[i/len(facings)%2]
		at = at.Add(time.Minute)
		e := study.Entry{Facing: facings[k], Level: level.Name, Outcome: trial.Slipped, Time: at, Note: facings[k],
			Force: math.Round(1e4*100*math.Pow(1.2, float64(min(k, 9)))*level.Weight/5*math.Exp(0.05*rng.NormFloat64())) / 1e4}
		switch i % 41 {
		case 17:
			e.Outcome, e.Note = trial.Void, "the tie let go: "+facings[k]
		case 29:
			e.Outcome = trial.Held
		}
		_, err := f.Append(e)
		require.NoError(t, err)
	}
	require.NoError(t, f.Close())
	return dir
}

// exported runs one command line and returns its status and what it printed.
func exported(t *testing.T, args ...string) (code int, out, talk string) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code = run(context.Background(), args, &app{stdin: strings.NewReader(""), stdout: &stdout, stderr: &stderr, now: time.Now})
	return code, stdout.String(), stderr.String()
}

// thirty names of facings.
func thirty() []string {
	var names []string
	for i := range 30 {
		names = append(names, fmt.Sprintf("facing no. %d of the long series", i+1))
	}
	return names
}

// oddStudies makes the studies at the edges: hostile names, one facing, no
// pulls, thirty facings and 2,000 pulls.
func oddStudies(t *testing.T) map[string]string {
	t.Helper()
	dir := t.TempDir()
	hostile := []string{"ground steel"}
	for _, name := range hostileNames {
		// A study refuses control characters and blanks around a name.
		name = strings.Map(func(r rune) rune {
			if unicode.IsControl(r) {
				return -1
			}
			return r
		}, name)
		if name = strings.TrimSpace(name); name != "" {
			hostile = append(hostile, name)
		}
	}
	many := 2000
	if testing.Short() {
		many = 400
	}
	four := []string{"ground steel", "bonded P240 abrasive cloth", "cast polyurethane sheet", "fine cross-cut serration"}
	return map[string]string{
		"hostile": madeStudy(t, filepath.Join(dir, "hostile"), hostile, 6*len(hostile)),
		"one":     madeStudy(t, filepath.Join(dir, "one"), four[:1], 8),
		"none":    madeStudy(t, filepath.Join(dir, "none"), four, 0),
		"thirty":  madeStudy(t, filepath.Join(dir, "thirty"), thirty(), 180),
		"many":    madeStudy(t, filepath.Join(dir, "many"), four, many),
	}
}

// TestOddStudies takes the studies at the edges through the terminal, every
// export and every report.
func TestOddStudies(t *testing.T) {
	studies := oddStudies(t)
	var pages, packages []string
	for name, dir := range studies {
		t.Run(name, func(t *testing.T) {
			want := exitOK
			if name == "none" {
				want = exitCannot
			}
			t.Setenv("COLUMNS", "60")
			code, out, talk := exported(t, "analyse", dir)
			assert.Equal(t, want, code, talk)
			clean(t, out+talk)
			for _, line := range strings.Split(out, "\n") {
				assert.LessOrEqual(t, letters(line), 60, "%q", line)
			}
			code, out, talk = exported(t, "export", dir, "--format", "csv,xlsx")
			require.Zero(t, code, talk)
			clean(t, out+talk)
			data := filepath.Join(dir, "reports", "data")
			description := filepath.Join(data, "datapackage.json")
			if packages = append(packages, description); name == "one" { // the one to break stands first
				packages[0], packages[len(packages)-1] = description, packages[0]
			}
			sameFromExports(t, data)
			code, _, talk = exported(t, "report", dir, "--format", "page,card,document,post,figures")
			require.Equal(t, want, code, talk)
			clean(t, talk)
			if name == "hostile" || name == "none" {
				code, out, talk = exported(t, "report", "--compare", dir, dir)
				require.Zero(t, code, talk)
				clean(t, out+talk)
			}
			found, err := filepath.Glob(filepath.Join(dir, "reports", "*.html"))
			require.NoError(t, err)
			require.GreaterOrEqual(t, len(found), 3)
			for _, page := range found {
				info, err := os.Stat(page)
				require.NoError(t, err)
				assert.Less(t, info.Size(), int64(3<<20), page)
				text, err := os.ReadFile(page)
				require.NoError(t, err)
				clean(t, string(text))
				assert.NotContains(t, string(text), "<b>&amp;</b>", "a name is no markup")
			}
			pages = append(pages, found...)
		})
	}
	t.Run("html", func(t *testing.T) { validHTML(t, accessible, pages...) })
	t.Run("packages", func(t *testing.T) {
		for i, p := range packages {
			validPackage(t, p, i == 0)
		}
	})
}

// TestHostileTable: names that no study takes, but a table of readings may have,
// with line ends and blanks.
func TestHostileTable(t *testing.T) {
	dir := t.TempDir()
	var text bytes.Buffer
	w := csv.NewWriter(&text)
	require.NoError(t, w.Write([]string{"facing", "force [N]", "block", "note"}))
	for i := range 3 {
		for k, name := range hostileNames[:len(hostileNames)-1] {
			require.NoError(t, w.Write([]string{name, fmt.Sprint(100 + 10*k + i), name, name}))
		}
	}
	w.Flush()
	file := filepath.Join(dir, "hostile.csv")
	require.NoError(t, os.WriteFile(file, bytes.ReplaceAll(text.Bytes(), []byte("\x00"), nil), 0o666))
	for _, args := range [][]string{{"analyse", file}, {"analyse", "--json", "--pulls", file}, {"report", file, "--format", "page,card,document,post,svg"}, {"report", "--compare", file, file}} {
		code, out, talk := exported(t, args...)
		require.Zero(t, code, talk)
		clean(t, out+talk)
	}
	found, err := filepath.Glob(filepath.Join(dir, "hostile-report", "*.html"))
	require.NoError(t, err)
	require.Len(t, found, 4)
	validHTML(t, accessible, found...)
}

// sameFromExports analyses the CSV and the workbook and expects one result, and
// the names as they were typed in the CSV.
func sameFromExports(t *testing.T, data string) {
	t.Helper()
	books, err := filepath.Glob(filepath.Join(data, "*.xlsx"))
	require.NoError(t, err)
	require.Len(t, books, 1)
	readings := filepath.Join(data, "readings.csv")
	code, fromCSV, csvTalk := exported(t, "analyse", "--json", "--pulls", readings)
	bookCode, fromBook, bookTalk := exported(t, "analyse", "--json", "--pulls", books[0])
	assert.Equal(t, code, bookCode)
	if code != exitOK {
		assert.Contains(t, csvTalk, "no rows of data")
		assert.Contains(t, bookTalk, "no rows of data")
		return
	}
	clean(t, fromCSV+fromBook)
	assert.Equal(t, fromCSV, fromBook)
	text, err := os.ReadFile(readings)
	require.NoError(t, err)
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	require.NoError(t, err, "another reader of CSV takes it")
	var res struct {
		Pulls []struct{ Facing string }
	}
	require.NoError(t, json.Unmarshal([]byte(fromCSV), &res))
	require.Len(t, res.Pulls, len(rows)-1)
	for i, p := range res.Pulls {
		require.Equal(t, rows[i+1][1], p.Facing)
	}
}

// node is the folder of npm packages that GRIPTRIAL_NODE names.
func node(t *testing.T) string {
	t.Helper()
	dir := os.Getenv("GRIPTRIAL_NODE")
	_, err := exec.LookPath("node")
	if dir != "" && err == nil {
		return dir
	}
	const what = "no validators (GRIPTRIAL_NODE names a node_modules with html-validate and datapackage, and node runs them)"
	if os.Getenv("GRIPTRIAL_REQUIRE_TOOLS") == "1" {
		t.Fatal(what)
	}
	t.Skip(what)
	return ""
}

// validHTML holds pages against html-validate, and shows that it can fail.
func validHTML(t *testing.T, presets string, pages ...string) {
	t.Helper()
	modules, dir := node(t), t.TempDir()
	config, bad := filepath.Join(dir, "config.json"), filepath.Join(dir, "bad.html")
	require.NoError(t, os.WriteFile(config, []byte(`{"root": true, "extends": [`+presets+`]}`), 0o666))
	require.NoError(t, os.WriteFile(bad, []byte("<!DOCTYPE html><html lang=\"en\"><head><title>x</title></head><body><p><div></div></p></body></html>"), 0o666))
	check := func(pages ...string) (string, error) {
		args := append([]string{filepath.Join(modules, "html-validate", "bin", "html-validate.mjs"), "--config", config, "--formatter", "text"}, pages...)
		out, err := exec.Command("node", args...).CombinedOutput()
		return string(out), err
	}
	out, err := check(pages...)
	assert.NoError(t, err, "%.4000s", out)
	out, err = check(bad)
	assert.Error(t, err)
	assert.Contains(t, out, "bad.html")
}

// The presets of html-validate: what the standard says, and what a screen
// reader needs.
const standard, accessible = `"html-validate:standard"`, `"html-validate:standard", "html-validate:a11y"`

// The bench page's accessibility is audited as it is used, beside its code.
func TestBenchPageIsHTML(t *testing.T) {
	validHTML(t, standard, "../../acquire/bench/page/assets/index.html")
}

// validPackage holds a Data Package against the published schemas, and its rows
// against its own; where asked it shows that this can fail.
func validPackage(t *testing.T, path string, broken bool) {
	t.Helper()
	modules := node(t)
	check := func(path string) (string, error) {
		cmd := exec.Command("node", "testdata/datapackage.js", path)
		cmd.Env = append(os.Environ(), "NODE_PATH="+modules)
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	out, err := check(path)
	require.NoError(t, err, "%.4000s", out)
	var tables map[string][]map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &tables))
	for _, name := range []string{"readings", "pulls", "facings", "pairs"} {
		assert.Contains(t, tables, name)
	}
	if !broken {
		return
	}
	// A facing that no table knows, and a force that is no number, are found.
	for _, c := range []struct{ file, from, to, want string }{
		{"pulls.csv", "", "leather", "Foreign key"},
		{"readings.csv", ",slipped,", ",wobbled,", "enum"},
	} {
		copied := t.TempDir()
		require.NoError(t, os.CopyFS(copied, os.DirFS(filepath.Dir(path))))
		name := filepath.Join(copied, c.file)
		b, err := os.ReadFile(name)
		require.NoError(t, err)
		text := string(b)
		if c.from == "" {
			head, rest, _ := strings.Cut(text, "\n")
			text = head + "\n" + strings.Replace(rest, ",", ",leather", 1)
		} else {
			text = strings.Replace(text, c.from, c.to, 1)
		}
		require.NoError(t, os.WriteFile(name, []byte(text), 0o666))
		out, err := check(filepath.Join(copied, "datapackage.json"))
		assert.Error(t, err)
		assert.Contains(t, out, c.want)
	}
}
