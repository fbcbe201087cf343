package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"griptrial/report/figure"
)

// writeFigure writes a figure in the format that the file's ending names.
// Nothing is written unless all of it could be drawn.
func writeFigure(name string, f figure.Figure) error {
	ending := strings.TrimPrefix(filepath.Ext(name), ".")
	if !slices.Contains(figure.Formats, ending) {
		return usageError{fmt.Errorf("--figure %s: the file must end in .%s", name, strings.Join(figure.Formats, ", ."))}
	}
	var b bytes.Buffer
	if err := f.Write(&b, ending); err != nil {
		return err
	}
	if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
		return fmt.Errorf("--figure: %w", err)
	}
	return nil
}
