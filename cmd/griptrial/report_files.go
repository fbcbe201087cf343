package main

import (
	"bytes"
	"slices"

	"griptrial/report"
	"griptrial/report/document"
	"griptrial/report/figure"
	"griptrial/report/page"
	"griptrial/report/post"
)

// reportFile is one file of a report, with its place below the report's folder.
type reportFile struct {
	name    string
	content []byte
}

// reportFiles makes the files of the asked formats, the one to open first at
// the start. The pictures of a post are made with it.
func reportFiles(in report.Input, formats []string) ([]reportFile, error) {
	var files []reportFile
	var b bytes.Buffer
	add := func(name string, err error) error {
		files = append(files, reportFile{name, bytes.Clone(b.Bytes())})
		b.Reset()
		return err
	}
	if slices.Contains(formats, "page") {
		if err := add("report.html", page.Write(&b, in)); err != nil {
			return nil, err
		}
	}
	if slices.Contains(formats, "card") {
		if err := add("card.html", page.WriteCard(&b, in)); err != nil {
			return nil, err
		}
	}
	if slices.Contains(formats, "document") {
		if err := add("validation.pdf", document.Write(&b, in)); err != nil {
			return nil, err
		}
	}
	if slices.Contains(formats, "post") {
		if err := add("post.md", post.Write(&b, in, "figures")); err != nil {
			return nil, err
		}
	}
	figures, endings := []figure.Figure(nil), figure.Formats
	switch {
	case slices.Contains(formats, "figures"):
		figures = figure.All(in)
	case slices.Contains(formats, "post"):
		figures, endings = figure.Answers(in, figure.Narrow), []string{"png"}
	}
	for _, f := range figures {
		for _, ending := range endings {
			if err := add("figures/"+f.Name+"."+ending, f.Write(&b, ending)); err != nil {
				return nil, err
			}
		}
	}
	return files, nil
}
