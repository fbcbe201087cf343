package figure

import (
	"io"
	"testing"

	"griptrial/report/internal/example"
)

// BenchmarkFormats times every figure of a trial of 48 pulls in each format.
func BenchmarkFormats(b *testing.B) {
	in := example.Input()
	for _, format := range Formats {
		b.Run(format, func(b *testing.B) {
			for b.Loop() {
				for _, f := range All(in) {
					if err := f.Write(io.Discard, format); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}
