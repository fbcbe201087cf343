package main

import (
	_ "github.com/creack/pty"
	_ "github.com/gofrs/flock"
	_ "github.com/pelletier/go-toml/v2"
	_ "github.com/rogpeppe/go-internal/testscript"
	_ "github.com/stretchr/testify/require"
	_ "go.bug.st/serial"
	_ "golang.org/x/sys/unix"
	_ "golang.org/x/term"
	_ "gonum.org/v1/gonum/stat/distuv"
	_ "gonum.org/v1/plot"
	_ "codeberg.org/go-pdf/fpdf"
)
