package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"griptrial/acquire/study"
	"griptrial/acquire/table"
	"griptrial/analysis"
	"griptrial/analysis/unit"
	"griptrial/report"
	"griptrial/report/datapackage"
)

func exportCommand(a *app) *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "export [flags] STUDY",
		Short: "Give the data away: CSV tables with types and units as a Data Package",
		Long: `export writes the readings, the run order and the results of a study as an open
Data Package: plain CSV tables, and datapackage.json, which says what each
column is and in which unit. R, Python and spreadsheets read it.

  readings.csv     every pull as it stands in the ledger, as analyse reads it
  pulls.csv        every pull as it was analysed: SI units, clamp force, value
  plan.csv         the run order as drawn
  results.json     everything that analyse --json --pulls prints
  study.toml       the set-up

It goes to STUDY/reports/data unless --out names another folder. Names of
facings stay as they were typed; a spreadsheet that takes a name which starts
with "=" for a formula should open the file as text.`,
		Example: `  griptrial export acrylic-blanks
  griptrial export acrylic-blanks --out for-the-statistician`,
		Args: exactly(1, "a study folder"),
		RunE: func(_ *cobra.Command, args []string) error {
			dir := out
			if dir == "" {
				dir = filepath.Join(args[0], study.ReportDir, "data")
			}
			return runExport(a, args[0], dir)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "folder to write to (default: STUDY/reports/data)")
	return cmd
}

// runExport reads and analyses a study, writes the package and says where.
func runExport(a *app, name, dir string) error {
	folder, err := study.Open(name)
	if err != nil {
		return err
	}
	defer folder.Close()
	in, err := reportFromStudy(folder, analysis.Options{})
	if err != nil {
		return err
	}
	p, err := exportPackage(folder, in)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := datapackage.Write(&b, p); err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return fmt.Errorf("export: %w", err)
	}
	// The description comes last: a folder without it is no package yet.
	files := append(p.Resources, datapackage.Resource{Path: "datapackage.json", Content: b.Bytes()})
	for _, f := range files {
		path := filepath.Join(dir, f.Path)
		if err := replaceFile(path, f.Content); err != nil {
			return fmt.Errorf("export: %w", err)
		}
		fmt.Fprintln(a.stdout, path)
	}
	return nil
}

// exportPackage makes every file of the package in memory.
func exportPackage(folder *study.Folder, in report.Input) (datapackage.Package, error) {
	p := datapackage.Package{Name: in.Study.Name, Title: in.Title(), Made: in.Made}
	readings, err := folder.Readings()
	if err != nil {
		return p, err
	}
	columns := table.ReadingColumns(in.Force)
	text := table.AppendRecord(nil, columns...)
	for _, r := range readings {
		text = table.AppendReading(text, r, in.Force)
	}
	p.Resources = append(p.Resources, datapackage.Resource{
		Name: "readings", Path: "readings.csv", Title: "Every pull as it stands in the ledger", Fields: exportFields(columns), Content: text,
	})
	columns, text = exportPulls(in.Results)
	p.Resources = append(p.Resources, datapackage.Resource{
		Name: "pulls", Path: "pulls.csv", Title: "Every pull as it was analysed, in SI units; value is " + string(in.Results.Quantity), Fields: exportFields(columns), Content: text,
	})
	if folder.HasPlan() {
		columns = []string{"order", "block", "facing", "sample", "level"}
		text = table.AppendRecord(nil, columns...)
		for _, q := range folder.Plan() {
			text = table.AppendRecord(text, strconv.Itoa(q.Order), q.Block, q.Facing, q.Sample, q.Level)
		}
		p.Resources = append(p.Resources, datapackage.Resource{
			Name: "plan", Path: "plan.csv", Title: "The run order as drawn", Fields: exportFields(columns), Content: text,
		})
	}
	results, err := json.MarshalIndent(in.Results, "", "  ")
	if err != nil {
		return p, fmt.Errorf("export: %w", err)
	}
	setup, err := os.ReadFile(filepath.Join(folder.Dir(), study.SetupFile))
	if err != nil {
		return p, fmt.Errorf("export: %w", err)
	}
	p.Resources = append(p.Resources,
		datapackage.Resource{Name: "results", Path: "results.json", Title: "Everything that was estimated", Content: append(results, '\n')},
		datapackage.Resource{Name: "setup", Path: "study.toml", Title: "How the trial was rigged", Content: setup})
	return p, nil
}

// exportPulls is the table of the pulls as they were analysed.
func exportPulls(r analysis.Results) (columns []string, text []byte) {
	columns = []string{"pull", "facing", "sample", "block", "level", "outcome", "force [N]", "clamp [N]", "weight [kg]", "value", "fitted", "order", "clampings", "note"}
	number := func(n analysis.Number) string {
		if !n.Known() {
			return ""
		}
		return strconv.FormatFloat(float64(n), 'f', -1, 64)
	}
	text = table.AppendRecord(nil, columns...)
	for _, p := range r.Pulls {
		text = table.AppendRecord(text, strconv.Itoa(p.Pull), p.Facing, p.Sample, p.Block, p.Level, p.Outcome, number(p.Force), number(p.Clamp),
			number(p.Weight), number(p.Value), number(p.Fitted), number(p.Order), number(p.Clampings), p.Note)
	}
	return columns, text
}

// exportTells says what the columns hold; columns are named alike everywhere.
var exportTells = map[string]datapackage.Field{
	"pull":      {Type: "integer", Description: "number of the pull, shared by its corrections"},
	"order":     {Type: "integer", Description: "place in the run order"},
	"clampings": {Type: "integer", Description: "how often the sample had been clamped before"},
	"facing":    {Type: "string", Description: "what faced the jaws"},
	"sample":    {Type: "string", Description: "which specimen of the facing"},
	"block":     {Type: "string", Description: "session"},
	"level":     {Type: "string", Description: "clamp level"},
	"outcome":   {Type: "string", Description: "slipped: the force at which the part moved; held: a lower bound; void: nothing", Enum: []string{"slipped", "held", "void"}},
	"force":     {Type: "number", Description: "slip force, or the greatest force carried when held"},
	"clamp":     {Type: "number", Description: "normal force on one jaw face"},
	"division":  {Type: "number", Description: "step to which the force was read"},
	"low":       {Type: "number", Description: "lower end of the 95 % interval of a slip force found in a trace"},
	"high":      {Type: "number", Description: "its upper end"},
	"weight":    {Type: "number", Description: "hung on the handle"},
	"value":     {Type: "number", Description: "grip; a lower bound when held"},
	"fitted":    {Type: "number", Description: "what the model expects"},
	"note":      {Type: "string"},
}

func exportFields(columns []string) []datapackage.Field {
	var out []datapackage.Field
	for _, c := range columns {
		name, _ := unit.SplitHeader(c)
		f, ok := exportTells[strings.TrimPrefix(name, "force ")]
		if !ok {
			f = exportTells[name]
		}
		f.Name = c
		out = append(out, f)
	}
	return out
}
