package datapackage

import "strings"

// Table is a table with typed columns, as a CSV file or a sheet of a workbook
// holds it. Values are texts: numbers as plain decimals, "" where nothing is
// known.
type Table struct {
	Name   string
	Title  string
	Fields []Field
	Rows   [][]string
	Key    string // column that tells the rows apart; "": none does
}

// Field is one column of a table.
type Field struct {
	Name        string // as the column head, with its unit in brackets
	Type        string // "string", "number", "integer" or "boolean"
	Description string
	Enum        []string // the only values; nil: any
	Required    bool     // never empty
	Of          string   // table whose column of this name the values come from; "": none
}

// Unit is what stands in brackets in the name; "" where nothing does.
func (f Field) Unit() string {
	open := strings.LastIndexByte(f.Name, '[')
	if open < 0 || !strings.HasSuffix(f.Name, "]") {
		return ""
	}
	return f.Name[open+1 : len(f.Name)-1]
}

// Bare is the name without its unit.
func (f Field) Bare() string {
	return strings.TrimSpace(strings.TrimSuffix(f.Name, "["+f.Unit()+"]"))
}

// Heads are the names of the columns.
func (t Table) Heads() []string {
	var names []string
	for _, f := range t.Fields {
		names = append(names, f.Name)
	}
	return names
}

// Number reports whether a column holds numbers.
func (f Field) Number() bool { return f.Type == "number" || f.Type == "integer" }

// outcomes are the words of a column "outcome".
var outcomes = []string{"slipped", "held", "void"}

// described tells what the columns hold, which are named alike in every table.
var described = map[string]Field{
	"pull":      {Type: "integer", Description: "number of the pull, shared by its corrections"},
	"order":     {Type: "integer", Description: "place in the run order"},
	"clampings": {Type: "integer", Description: "how often the sample had been clamped before"},
	"facing":    {Type: "string", Description: "what faced the jaws", Required: true, Of: "facings"},
	"sample":    {Type: "string", Description: "which specimen of the facing"},
	"block":     {Type: "string", Description: "session"},
	"level":     {Type: "string", Description: "clamp level"},
	"outcome":   {Type: "string", Description: "slipped: the force at which the part moved; held: a lower bound; void: nothing", Enum: outcomes, Required: true},
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

// Described makes the columns of a table of pulls or of the run order from
// their heads.
func Described(heads []string) []Field {
	var out []Field
	for _, h := range heads {
		f := described[Field{Name: h}.Bare()]
		f.Name = h
		out = append(out, f)
	}
	return out
}
