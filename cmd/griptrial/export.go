package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"griptrial/acquire/study"
	"griptrial/acquire/table"
	"griptrial/analysis"
	"griptrial/report"
	"griptrial/report/datapackage"
	"griptrial/report/workbook"
)

// exportFormats lists what `export` writes.
var exportFormats = []string{"csv", "xlsx"}

// exportFlags are the settings of `export`.
type exportFlags struct {
	out     string
	formats []string
}

func exportCommand(a *app) *cobra.Command {
	var f exportFlags
	cmd := &cobra.Command{
		Use:   "export [flags] STUDY",
		Short: "Give the data away: tables with types and units, or a workbook",
		Long: `export writes the readings, the run order and the results of a study for
others to work with.

  csv    an open Data Package: plain CSV tables, and datapackage.json, which
         says what each column is, in which unit, and how the tables hang
         together. R, Python and spreadsheets read it.
           readings.csv   every pull as it stands in the ledger
           pulls.csv      every pull as it was analysed: SI units, clamp force
           plan.csv       the run order as drawn
           facings.csv    what was learned of each facing, in SI units
           pairs.csv      every pair of facings compared
           results.json   everything that analyse --json --pulls prints
           study.toml     the set-up
  xlsx   NAME.xlsx, a workbook for spreadsheets with the sheets readings,
         results, pairs, plan and remarks

analyse reads readings.csv and the workbook back to the same results.

It goes to STUDY/reports/data unless --out names another folder. Names of
facings stay as they were typed. A spreadsheet takes a name in a CSV that
starts with "=" for a formula; in the workbook it is text and stays text.`,
		Example: `  griptrial export acrylic-blanks
  griptrial export acrylic-blanks --format xlsx
  griptrial export acrylic-blanks --format csv,xlsx --out for-the-statistician`,
		Args: exactly(1, "a study folder"),
		RunE: func(_ *cobra.Command, args []string) error {
			for _, name := range f.formats {
				if !slices.Contains(exportFormats, name) {
					return usageError{fmt.Errorf("--format %q: choose among %s", name, strings.Join(exportFormats, ", "))}
				}
			}
			if len(f.formats) == 0 {
				return usageError{fmt.Errorf("--format is empty: choose among %s", strings.Join(exportFormats, ", "))}
			}
			if f.out == "" {
				f.out = filepath.Join(args[0], study.ReportDir, "data")
			}
			return runExport(a, f, args[0])
		},
	}
	cmd.Flags().StringVar(&f.out, "out", "", "folder to write to (default: STUDY/reports/data)")
	cmd.Flags().StringSliceVar(&f.formats, "format", []string{"csv"}, "what to write: "+strings.Join(exportFormats, ", "))
	return cmd
}

// runExport reads and analyses a study, makes every file in memory, writes them
// and says where.
func runExport(a *app, f exportFlags, name string) error {
	if info, err := os.Stat(name); err == nil && !info.IsDir() {
		return fmt.Errorf("%s: this is a file; export takes a study folder, and `griptrial analyse --json` gives the results of a table of readings", name)
	}
	folder, err := study.Open(name)
	if err != nil {
		return err
	}
	defer folder.Close()
	in, err := reportFromStudy(a, folder, analysis.Options{})
	if err != nil {
		return err
	}
	tables, err := exportTables(folder, in)
	if err != nil {
		return err
	}
	var files []reportFile
	if slices.Contains(f.formats, "csv") {
		if files, err = exportPackage(folder, in, tables); err != nil {
			return err
		}
	}
	if slices.Contains(f.formats, "xlsx") {
		var b bytes.Buffer
		if err := workbook.Write(&b, exportBook(in, tables)); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		files = append(files, reportFile{datapackage.Slug(in.Study.Name) + ".xlsx", b.Bytes()})
	}
	if err := os.MkdirAll(f.out, 0o777); err != nil {
		return fmt.Errorf("export: %w", err)
	}
	for _, one := range files {
		path := filepath.Join(f.out, one.name)
		if err := replaceFile(path, one.content); err != nil {
			return fmt.Errorf("export: %w", err)
		}
		fmt.Fprintln(a.stdout, path)
	}
	return nil
}

// exportTables makes the tables that every format has, by their names.
func exportTables(folder *study.Folder, in report.Input) (map[string]datapackage.Table, error) {
	readings, err := folder.Readings()
	if err != nil {
		return nil, err
	}
	r := datapackage.Table{Name: "readings", Title: "Every pull as it stands in the ledger", Key: "pull",
		Fields: datapackage.Described(table.ReadingColumns(in.Force))}
	for _, one := range readings {
		r.Rows = append(r.Rows, table.ReadingFields(one, in.Force))
	}
	p := datapackage.Table{Name: "plan", Title: "The run order as drawn", Key: "order",
		Fields: datapackage.Described([]string{"order", "block", "facing", "sample", "level"})}
	for _, q := range folder.Plan() {
		p.Rows = append(p.Rows, []string{strconv.Itoa(q.Order), q.Block, q.Facing, q.Sample, q.Level})
	}
	tables := map[string]datapackage.Table{}
	for _, t := range []datapackage.Table{r, p, datapackage.Pulls(in.Results), datapackage.Facings(in), datapackage.Pairs(in.Results), datapackage.Remarks(in)} {
		tables[t.Name] = t
	}
	return tables, nil
}

// exportBook is the workbook: what analyse reads stands in front.
func exportBook(in report.Input, tables map[string]datapackage.Table) workbook.Book {
	b := workbook.Book{Title: in.Title(), Made: in.Made}
	for _, name := range []string{"readings", "facings", "pairs", "plan", "remarks"} {
		t := tables[name]
		if name == "facings" {
			t.Name = "results"
		}
		b.Sheets = append(b.Sheets, t)
	}
	return b
}

// exportPackage makes the files of the Data Package. The description comes
// last: a folder without it is no package yet.
func exportPackage(folder *study.Folder, in report.Input, tables map[string]datapackage.Table) ([]reportFile, error) {
	p := datapackage.Package{Name: in.Study.Name, Title: in.Title(), Made: in.Made}
	for _, name := range []string{"readings", "pulls", "plan", "facings", "pairs"} {
		t := tables[name]
		if name == "plan" && !folder.HasPlan() {
			continue
		}
		text := table.AppendRecord(nil, t.Heads()...)
		for _, row := range t.Rows {
			text = table.AppendRecord(text, row...)
		}
		p.Resources = append(p.Resources, datapackage.Resource{Name: t.Name, Path: t.Name + ".csv", Title: t.Title, Table: &t, Content: text})
	}
	results, err := json.MarshalIndent(in.Results, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("export: %w", err)
	}
	setup, err := os.ReadFile(filepath.Join(folder.Dir(), study.SetupFile))
	if err != nil {
		return nil, fmt.Errorf("export: %w", err)
	}
	p.Resources = append(p.Resources,
		datapackage.Resource{Name: "results", Path: "results.json", Title: "Everything that was estimated", Content: append(results, '\n')},
		datapackage.Resource{Name: "setup", Path: "study.toml", Title: "How the trial was rigged", Content: setup})
	var b bytes.Buffer
	if err := datapackage.Write(&b, p); err != nil {
		return nil, err
	}
	var files []reportFile
	for _, r := range p.Resources {
		files = append(files, reportFile{r.Path, r.Content})
	}
	return append(files, reportFile{"datapackage.json", b.Bytes()}), nil
}
