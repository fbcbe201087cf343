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
func reportFiles(in report.Input, formats []string, o post.Options) ([]reportFile, error) {
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
		if err := add("validation.html", document.WriteHTML(&b, in)); err != nil {
			return nil, err
		}
	}
	if slices.Contains(formats, "post") {
		if err := add("post.md", post.Write(&b, in, o)); err != nil {
			return nil, err
		}
	}
	inPost := map[string]bool{}
	if slices.Contains(formats, "post") {
		for _, f := range figure.Answers(in, figure.Narrow) {
			inPost[f.Name] = true
		}
	}
	if len(inPost) == 0 && !slices.Contains(formats, "svg") && !slices.Contains(formats, "figures") {
		return files, nil
	}
	for _, f := range figure.All(in) {
		for _, ending := range figure.Formats {
			asked := slices.Contains(formats, "figures") || ending == "svg" && slices.Contains(formats, "svg") || ending == "png" && inPost[f.Name]
			if !asked {
				continue
			}
			if err := add("figures/"+f.Name+"."+ending, f.Write(&b, ending)); err != nil {
				return nil, err
			}
		}
	}
	return files, nil
}
