package changes

import (
	"strings"

	"griptrial/report"
)

// settingTable lists the keys of study.toml that differ. A table that only one
// of the two has is one row, or a rig described once would fill a screen.
func (c Change) settingTable() Table {
	t := Table{Title: "Set-up", Heads: []string{"key", "old", "new"}}
	value := func(text string) string {
		if text == "" {
			return "not set"
		}
		return report.Brief(text, 400)
	}
	for _, s := range together(c.Settings) {
		t.Rows = append(t.Rows, []string{report.Brief(s.Key, 120), value(s.Old), value(s.New)})
	}
	if s := c.Calibration; s != nil {
		t.Rows = append(t.Rows, []string{s.Key, value(s.Old), value(s.New)})
	}
	return t
}

// together makes one change of neighbours that stand in the same table and are
// set on the same side alone: "cut 1", "depth 1 mm, width 4 mm". A name that the
// table is called by anyway is left out beside other keys.
func together(list []SettingChange) []SettingChange {
	var out []SettingChange
	for len(list) > 0 {
		table, side := tableOf(list[0].Key), sideOf(list[0])
		n := 1
		for table != "" && side != both && n < len(list) && tableOf(list[n].Key) == table && sideOf(list[n]) == side {
			n++
		}
		run := list[:n]
		list = list[n:]
		if n > 1 {
			run = unnamed(run)
		}
		if len(run) == 1 {
			out = append(out, run[0])
			continue
		}
		merged := SettingChange{Key: table}
		for _, s := range run {
			key := strings.TrimPrefix(s.Key, table+".")
			merged.Old = listed(merged.Old, key, s.Old)
			merged.New = listed(merged.New, key, s.New)
		}
		out = append(out, merged)
	}
	return out
}

func listed(list, key, value string) string {
	switch {
	case value == "":
		return list
	case list == "":
		return key + " " + value
	}
	return list + ", " + key + " " + value
}

// unnamed is a run without the name that its table is called by.
func unnamed(run []SettingChange) []SettingChange {
	var out []SettingChange
	for _, s := range run {
		if !strings.HasSuffix(s.Key, "\""+s.Old+s.New+"\".name") {
			out = append(out, s)
		}
	}
	return out
}

// tableOf is the table in which a key stands; "" for a key in none.
func tableOf(key string) string { return key[:max(0, strings.LastIndex(key, "."))] }

type sides int

const (
	both sides = iota
	oldAlone
	newAlone
)

func sideOf(s SettingChange) sides {
	switch {
	case s.New == "":
		return oldAlone
	case s.Old == "":
		return newAlone
	}
	return both
}
