package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"griptrial/acquire/study"
	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/changes"
)

// runCompare reads both, says what changed and writes the page; for JSON only
// where a folder is named.
func runCompare(a *app, out string, asJSON bool, o analysis.Options, oldName, newName string) error {
	if oldName == "-" && newName == "-" {
		return usageError{errors.New("--compare: only one of the two can be standard input")}
	}
	old, err := comparedSide(a, oldName, o)
	if err != nil {
		return err
	}
	now, err := comparedSide(a, newName, o)
	if err != nil {
		return err
	}
	c := changes.Between(old, now)
	if out == "" && !asJSON {
		out = defaultOut(newName)
	}
	if out != "" {
		if err := writeComparison(a, c, out, o.Control, oldName, newName); err != nil {
			return err
		}
	}
	if asJSON {
		return printJSON(a.stdout, c)
	}
	return printChange(a.stdout, c)
}

// writeComparison writes the page and says where.
func writeComparison(a *app, c changes.Change, out, control, oldName, newName string) error {
	command := ""
	if oldName != "-" && newName != "-" {
		command = "griptrial report --compare " + shellWord(oldName) + " " + shellWord(newName)
		if control != "" {
			command += " --control " + shellWord(control)
		}
	}
	var b bytes.Buffer
	if err := changes.Write(&b, c, command); err != nil {
		return err
	}
	if err := os.MkdirAll(out, 0o777); err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	path := filepath.Join(out, "compare.html")
	if err := replaceFile(path, b.Bytes()); err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	fmt.Fprintf(a.stderr, "page     %s\n", harmless(path))
	return nil
}

// comparedSide reads one of the two.
func comparedSide(a *app, name string, o analysis.Options) (changes.Side, error) {
	if dir, ok := ledgerOf(name); ok {
		name = dir
	}
	if info, err := os.Stat(name); name != "-" && err == nil && info.IsDir() {
		return comparedStudy(a, name, o)
	}
	side := changes.Side{Name: name}
	g, _, err := readTrial(a, name)
	if err != nil {
		return side, err
	}
	side.In = report.Input{Force: g.force}
	if side.In.Results, err = a.analyse(g.readings, g.study, o); err != nil {
		return side, fmt.Errorf("%s: %w", name, err)
	}
	for i, r := range g.readings {
		if r.Pull == 0 {
			r.Pull = i + 1
		}
		side.Current = append(side.Current, comparedRow(study.Row{Row: i + 1, Reading: r}))
	}
	side.History = side.Current
	return side, nil
}

// comparedStudy reads one of the two that is a study folder.
func comparedStudy(a *app, dir string, o analysis.Options) (changes.Side, error) {
	side := changes.Side{Name: dir, Ledger: true}
	folder, err := study.Open(dir)
	if err != nil {
		return side, err
	}
	defer folder.Close()
	if side.In, err = reportFromStudy(a, folder, o); err != nil {
		return side, err
	}
	for _, r := range folder.History() {
		side.History = append(side.History, comparedRow(r))
	}
	for _, r := range folder.Current() {
		side.Current = append(side.Current, comparedRow(r))
	}
	path := filepath.Join(dir, study.SetupFile)
	doc, err := os.ReadFile(path)
	if err != nil {
		return side, err
	}
	settings, err := study.Settings(path, doc)
	if err != nil {
		return side, err
	}
	side.Settings = []changes.Setting{}
	for _, s := range settings {
		side.Settings = append(side.Settings, changes.Setting(s))
	}
	side.Calibration, err = comparedCalibration(folder, side.In)
	return side, err
}

// comparedCalibration is nil where the study has none, or its file is gone.
func comparedCalibration(folder *study.Folder, in report.Input) (*changes.Calibration, error) {
	scale, err := calibrationOf(folder)
	if errors.Is(err, fs.ErrNotExist) || scale == nil {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	out := &changes.Calibration{File: in.Study.Scale.Calibration, Span: scale.fit.Span}
	for _, file := range in.Files {
		if strings.HasPrefix(file.Name, study.CalibrationDir+"/") {
			out.SHA256 = file.SHA256
		}
	}
	return out, nil
}

func comparedRow(r study.Row) changes.Row {
	row := changes.Row{Row: r.Row, Pull: r.Pull, Facing: r.Facing, Sample: r.Sample, Level: r.Level, Block: r.Block, Outcome: r.Outcome.String(),
		Reason: r.Reason, Force: r.Force, Trace: r.SHA256, Time: r.Time.UTC()}
	if r.Outcome == trial.Void && r.Reason == "" {
		row.Reason = r.Note
	}
	return row
}

// printChange prints what changed for people.
func printChange(out io.Writer, c changes.Change) error {
	l := lookOf(out)
	var b strings.Builder
	b.WriteString(l.boldLines(l.wrap("", c.Headline())))
	for _, t := range c.Tables() {
		b.WriteString("\n" + l.boldLines(l.wrap("", t.Title)))
		table := textTable{}
		for _, head := range t.Heads {
			table.columns = append(table.columns, textColumn{head: head, breaks: true})
		}
		for _, row := range t.Rows {
			table.add(row...)
		}
		b.WriteString(table.text(l, 2))
	}
	b.WriteString("\n")
	for _, text := range c.Remarks {
		b.WriteString(l.wrap("  - ", text))
	}
	b.WriteString("\n" + l.wrap("", trial.Cautions[3]))
	_, err := io.WriteString(out, b.String())
	return err
}
