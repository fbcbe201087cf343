package study

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"

	"griptrial/acquire/disk"
	"griptrial/analysis/plan"
	"griptrial/analysis/trial"
)

// ErrPulled is wrapped by the error that refuses to redraw a plan after pulls.
var ErrPulled = errors.New("the order is not drawn again once there are pulls")

// Draw draws the run order with a seed and stores it. An order that was drawn
// before is replaced as long as there are no pulls.
func (f *Folder) Draw(seed uint64) error {
	if err := f.writable(); err != nil {
		return err
	}
	if n := len(f.ledger.rows); n > 0 {
		return fmt.Errorf("%s: %w (%d rows in %s)", f.dir, ErrPulled, n, LedgerFile)
	}
	pulls, err := plan.Draw(f.setup, seed)
	if err != nil {
		return fmt.Errorf("%s: %w", f.path(SetupFile), err)
	}
	if err := disk.Replace(f.disk, join(f.dir, PlanFile), writePlan(pulls, seed)); err != nil {
		return fmt.Errorf("plan not stored: %w", err)
	}
	f.plan, f.seed = pulls, seed
	return nil
}

func writePlan(pulls []trial.PlannedPull, seed uint64) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# run order as drawn; the same seed and study.toml give it again\n# seed: %d\n", seed)
	w := csv.NewWriter(&b)
	rows := [][]string{{"order", "block", "facing", "sample", "level"}}
	for _, p := range pulls {
		rows = append(rows, []string{strconv.Itoa(p.Order), p.Block, p.Facing, p.Sample, p.Level})
	}
	// A bytes.Buffer takes every write.
	_ = w.WriteAll(rows)
	return b.Bytes()
}

// readPlan reads plan.csv; a study without one is in order.
func (f *Folder) readPlan() error {
	name := f.path(PlanFile)
	b, err := readText(f.disk, name, maxTable)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	var errs []error
	fail := func(line int, column, format string, args ...any) {
		errs = append(errs, Problem{File: name, Line: line, Column: column, What: fmt.Sprintf(format, args...)})
	}
	var at map[string]int
	pulls := []trial.PlannedPull{}
	seeded := false
	for i, text := range strings.Split(strings.TrimPrefix(string(b), "\ufeff"), "\n") {
		text = strings.TrimSuffix(text, "\r")
		if strings.HasPrefix(text, "#") && at == nil {
			if key, value, ok := strings.Cut(text[1:], ":"); ok && strings.TrimSpace(key) == "seed" {
				if f.seed, err = strconv.ParseUint(strings.TrimSpace(value), 10, 64); err != nil {
					fail(i+1, "seed", "%q is not a seed", strings.TrimSpace(value))
				}
				seeded = true
			}
			continue
		}
		if strings.TrimSpace(text) == "" {
			continue
		}
		cells, err := splitRow([]byte(text))
		if err != nil {
			fail(i+1, "", "%v", err)
			continue
		}
		if at == nil {
			at = map[string]int{}
			for j, c := range cells {
				at[strings.TrimSpace(c)] = j
			}
			for _, need := range []string{"order", "block", "facing", "sample", "level"} {
				if _, ok := at[need]; !ok {
					fail(i+1, need, "the column is missing")
				}
			}
			if len(errs) > 0 {
				break
			}
			continue
		}
		if len(cells) != len(at) {
			fail(i+1, "", "%d cells where the header names %d", len(cells), len(at))
			continue
		}
		p := trial.PlannedPull{Block: cells[at["block"]], Facing: cells[at["facing"]], Sample: cells[at["sample"]], Level: cells[at["level"]]}
		if p.Order, err = strconv.Atoi(cells[at["order"]]); err != nil || p.Order != len(pulls)+1 {
			fail(i+1, "order", "%q is not the next order, %d", cells[at["order"]], len(pulls)+1)
			p.Order = len(pulls) + 1
		}
		if what, column := f.unknown(p.Facing, p.Sample, p.Level); what != "" {
			fail(i+1, column, "%s", what)
		}
		pulls = append(pulls, p)
	}
	if at == nil && len(errs) == 0 {
		fail(1, "", "no header row; remove the file and draw the order again with `griptrial plan`")
	}
	if !seeded && len(errs) == 0 {
		fail(1, "seed", "the line `# seed: NUMBER` is missing")
	}
	f.plan = pulls
	return errors.Join(errs...)
}

// unknown says what of a facing, sample and level is not in study.toml.
func (f *Folder) unknown(facing, sample, level string) (what, column string) {
	var names []string
	for _, x := range f.setup.Facings {
		names = append(names, x.Name)
		if x.Name != facing {
			continue
		}
		known := sample == "" || len(x.Samples) == 0
		for _, s := range x.Samples {
			known = known || s == sample
		}
		if !known {
			return fmt.Sprintf("%q is not a sample of %s%s", sample, facing, among(sample, x.Samples)), "sample"
		}
		var levels []string
		for _, l := range f.setup.Levels {
			if l.Name == level || level == "" {
				return "", ""
			}
			levels = append(levels, l.Name)
		}
		return fmt.Sprintf("%q is not a clamp level of %s%s", level, SetupFile, among(level, levels)), "level"
	}
	return fmt.Sprintf("%q is not a facing of %s%s", facing, SetupFile, among(facing, names)), "facing"
}
