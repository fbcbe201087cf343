package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"

	"griptrial/acquire/loadcell"
	"griptrial/acquire/study"
	"griptrial/acquire/table"
	"griptrial/analysis"
	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
	"griptrial/report"
)

// reportInput reads a study or a file of readings and analyses it.
func reportInput(a *app, name string, o analysis.Options) (report.Input, error) {
	if name == "-" {
		return reportFromReadings(a, name, o)
	}
	info, err := statInput(name)
	if err != nil {
		return report.Input{}, err
	}
	if !info.IsDir() {
		return reportFromReadings(a, name, o)
	}
	folder, err := study.Open(name)
	if err != nil {
		return report.Input{}, err
	}
	defer folder.Close()
	return reportFromStudy(a, folder, o)
}

func reportFromReadings(a *app, name string, o analysis.Options) (report.Input, error) {
	g, _, err := readTrial(a, name)
	if err != nil {
		return report.Input{}, err
	}
	in := report.Input{Force: g.force, Command: commandFor(name)}
	if name != "-" {
		if in.Files, err = addFile(in.Files, filepath.Dir(name), filepath.Base(name)); err != nil {
			return report.Input{}, err
		}
		in.Study.Name = strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))
	}
	if in.Results, err = a.analyse(g.readings, g.study, o); err != nil {
		return report.Input{}, fmt.Errorf("%s: %w", name, err)
	}
	return in, nil
}

// reportFromStudy gathers everything that a report shows of a study.
func reportFromStudy(a *app, folder *study.Folder, o analysis.Options) (report.Input, error) {
	in := report.Input{Study: folder.Setup(), Command: commandFor(folder.Dir())}
	var err error
	if in.Force, err = unit.Lookup(unit.Force, in.Study.Unit); err != nil {
		return in, fmt.Errorf("%s: display unit of force: %w", folder.Dir(), err)
	}
	readings, err := folder.Readings()
	if err != nil {
		return in, err
	}
	cal, err := calibrationOf(folder)
	if err != nil {
		return in, err
	}
	if cal != nil {
		in.Cell = cal.facts(in.Study.Scale.Calibration)
		cal.state(&in.Study.Scale)
	}
	if len(readings) > 0 {
		if in.Results, err = a.analyse(readings, in.Study, o); err != nil {
			return in, fmt.Errorf("%s: %w", folder.Dir(), err)
		}
	} else {
		in.Results = notPulled(in.Study, o)
	}
	files := []string{study.SetupFile, study.PlanFile, study.LedgerFile, study.BenchFile}
	if cal != nil {
		files = append(files, study.CalibrationDir+"/"+in.Study.Scale.Calibration)
	}
	for _, name := range files {
		if in.Files, err = addFile(in.Files, folder.Dir(), name); err != nil {
			return in, err
		}
	}
	in.Plan, in.Skipped = folder.Plan(), map[int]bool{}
	for _, r := range folder.Current() {
		if r.Time.After(in.Made) {
			in.Made = r.Time
		}
		if !r.Time.IsZero() && (in.Began.IsZero() || r.Time.Before(in.Began)) {
			in.Began = r.Time
		}
		if r.Skipped() {
			in.Skipped[r.Pull] = true
		}
		if r.Trace == "" {
			continue
		}
		tr, err := reportTrace(folder, r, in.Study.Scale, cal)
		if err != nil {
			return in, err
		}
		in.Traces = append(in.Traces, tr)
		in.Files = append(in.Files, report.RawFile{Name: study.TraceDir + "/" + r.Trace, SHA256: r.SHA256})
	}
	in.Superseded = superseded(folder)
	looked, err := folder.Facts()
	if err != nil {
		return in, err
	}
	for _, f := range looked {
		in.Bench = append(in.Bench, report.Looked{Time: f.Time, What: f.What, Pull: f.Pull, Text: f.Text})
	}
	return in, nil
}

// notPulled is the result of a study without a pull.
func notPulled(s trial.Study, o analysis.Options) analysis.Results {
	r := analysis.Results{Confidence: 0.95, Quantity: analysis.Mu}
	if o.Confidence > 0 {
		r.Confidence = o.Confidence
	}
	for _, f := range s.Facings {
		if f.Name == o.Control || f.Control && o.Control == "" {
			r.Control = f.Name
		}
	}
	r.Warnings = []analysis.Warning{{Code: "no-pulls", Text: "There are no pulls in this study yet."}}
	return r
}

// commandFor is the command that makes the report again, for the folder in
// which the study stands.
func commandFor(name string) string {
	if name == "-" {
		return ""
	}
	base := filepath.Base(name)
	if abs, err := filepath.Abs(name); err == nil {
		base = filepath.Base(abs)
	}
	return "griptrial report " + shellWord(base)
}

// remarked sets the line on top of every report, which the command that makes
// the report again must give too.
func remarked(in *report.Input, remark string) {
	in.Remark = remark
	if in.Command != "" && remark != "" {
		in.Command += " --remark " + shellWord(remark)
	}
}

// controlled adds the control that was asked for to the command that makes the
// report again.
func controlled(in *report.Input, control string) {
	if in.Command != "" && control != "" {
		in.Command += " --control " + shellWord(control)
	}
}

// shellWord writes a text as one word of a shell.
func shellWord(text string) string {
	if strings.ContainsAny(text, " \t\n'\"\\$&|;<>()*?[]#~`!{}") {
		return "'" + strings.ReplaceAll(text, "'", `'\''`) + "'"
	}
	return text
}

// addFile adds a file with its checksum; one that is not there is left out.
func addFile(files []report.RawFile, dir, name string) ([]report.RawFile, error) {
	b, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
	if errors.Is(err, fs.ErrNotExist) {
		return files, nil
	}
	if err != nil {
		return files, err
	}
	sum := sha256.Sum256(b)
	return append(files, report.RawFile{Name: name, SHA256: hex.EncodeToString(sum[:])}), nil
}

// reportTrace reads the trace of a pull and finds its slip point again. What
// the ledger says stands: where a person overruled the tool, the ledger's force
// is shown and no point in time.
func reportTrace(folder *study.Folder, r study.Row, s trial.Scale, cal *calibrated) (report.Trace, error) {
	tr := report.Trace{Pull: r.Pull, Facing: r.Facing, Outcome: r.Outcome.String(), SHA256: r.SHA256}
	path := filepath.Join(folder.Dir(), study.TraceDir, r.Trace)
	b, err := os.ReadFile(path)
	if err != nil {
		return tr, err
	}
	if sum := sha256.Sum256(b); r.SHA256 != "" && hex.EncodeToString(sum[:]) != r.SHA256 {
		return tr, fmt.Errorf("%s: the trace of pull %d is not the one that was saved (its SHA-256 differs); see `griptrial check %s`", path, r.Pull, folder.Dir())
	}
	f, err := table.ReadTrace(path, bytes.NewReader(b))
	if err != nil && !errors.Is(err, table.ErrNoForce) {
		return tr, err
	}
	tr.Trace = f.Trace
	if len(tr.Trace.Force) == 0 && len(f.Counts) > 0 {
		if cal == nil {
			return tr, fmt.Errorf("%s: the trace holds counts, and the study has no calibration to make forces of them; name one in study.toml, [scale] calibration", path)
		}
		scale := loadcell.Scale{Span: cal.fit.Span}
		tr.Trace.Force = make([]float64, len(f.Counts))
		for i, c := range f.Counts {
			tr.Trace.Force[i] = scale.Newtons(float64(c))
		}
	}
	found, err := slip.Detect(tr.Trace, slip.Options{Division: s.Division, Capacity: s.Capacity})
	if err != nil {
		return tr, fmt.Errorf("%s: %w", path, err)
	}
	tr.Slip = asJudged(found, r)
	return tr, nil
}

// asJudged makes what the tool found agree with what the ledger says.
func asJudged(found slip.Result, r study.Row) slip.Result {
	same := found.Outcome == r.Outcome && (r.Outcome != trial.Slipped || math.Abs(found.SlipForce-r.Force) <= 0.02*r.Force)
	if same {
		return found
	}
	found.SlipForce, found.SlipTime, found.Kind = math.NaN(), math.NaN(), ""
	found.Outcome = r.Outcome
	if r.Outcome == trial.Slipped {
		found.SlipForce = r.Force
	}
	return found
}

// superseded lists the rows that later ones replaced or withdrew.
func superseded(folder *study.Folder) []report.Superseded {
	rows := folder.History()
	why := make(map[int]string)
	for _, r := range rows {
		if r.Supersedes > 0 {
			why[r.Supersedes] = r.Reason
		}
	}
	var out []report.Superseded
	for _, r := range rows {
		reason, gone := why[r.Row]
		if !gone {
			continue
		}
		force := r.Force
		if r.Outcome == trial.Void && force == 0 {
			force = math.NaN()
		}
		out = append(out, report.Superseded{Pull: r.Pull, Facing: r.Facing, Outcome: r.Outcome.String(), Force: force, Why: reason})
	}
	return out
}
