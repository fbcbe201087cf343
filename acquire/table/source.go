package table

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"sync"
	"unicode/utf8"
)

const (
	chunk    = 128 << 10 // read at once; most traces fit
	maxLine  = 1 << 20   // longest line
	maxQuote = 8 << 10   // longest record that runs over several lines
	slack    = 32        // bytes of the buffer behind what is read, so that looking ahead stays inside
)

// room is the memory that reading one file takes; it is used again for the next.
type room struct {
	buf   [chunk]byte
	block [slots][batch]float64
}

var rooms = sync.Pool{New: func() any { return new(room) }}

// source gives the lines of a file from a buffer of bounded size.
type source struct {
	name     string
	r        io.Reader
	buf      []byte
	pos, end int // what is read and not yet used
	line     int // number of the last line used
	span     int // lines in the last record
	first    int // bytes of its first line, with the line end
	length   int // bytes of all of it
	eof      bool
	read     int64 // bytes read so far
	room     *room
}

// fatal ends the reading of a file.
type fatal struct{ error }

func (f fatal) Unwrap() error { return f.error }

func newSource(name string, r io.Reader) *source {
	m := rooms.Get().(*room)
	return &source{name: name, r: r, buf: m.buf[:], span: 1, room: m}
}

// release gives the room back; the source is of no use afterwards.
func (s *source) release() { rooms.Put(s.room) }

func (s *source) problem(column, format string, args ...any) Problem {
	return Problem{File: s.name, Line: s.line, Column: column, What: fmt.Sprintf(format, args...)}
}

func (s *source) at() int { return s.line }

// fill reads more behind what is there. At the end of the file it adds the
// last newline where that is missing.
func (s *source) fill() error {
	if s.pos > 0 {
		copy(s.buf, s.buf[s.pos:s.end])
		s.pos, s.end = 0, s.end-s.pos
	}
	if s.end == len(s.buf)-slack-1 { // one byte is kept for a last newline
		if len(s.buf) > maxLine {
			s.line += s.span
			if bytes.IndexByte(s.buf[:s.end], 0) >= 0 {
				return s.binary()
			}
			return fatal{s.problem("row", "line longer than %d bytes; is this a CSV file?", maxLine)}
		}
		grown := make([]byte, 2*len(s.buf)+slack)
		copy(grown, s.buf[:s.end])
		s.buf = grown
	}
	for empty := 0; ; empty++ {
		n, err := s.r.Read(s.buf[s.end : len(s.buf)-slack-1])
		s.end += n
		s.read += int64(n)
		switch {
		case err == io.EOF:
			s.eof = true
			if s.end > s.pos && s.buf[s.end-1] != '\n' {
				s.buf[s.end] = '\n'
				s.end++
			}
			return nil
		case err != nil:
			return fatal{fmt.Errorf("%s: %w", s.name, bare(err))}
		case n > 0:
			return nil
		case empty == 100:
			return fatal{fmt.Errorf("%s: %w", s.name, io.ErrNoProgress)}
		}
	}
}

// bare takes the operation and path off a file error: the name stands before it.
func bare(err error) error {
	if pe := (*fs.PathError)(nil); errors.As(err, &pe) {
		return pe.Err
	}
	return err
}

// find returns the length of the text at pos up to the first newline at or
// after from, reading on as needed; 0 at the end of the file.
func (s *source) find(from int) (int, error) {
	for {
		if n := bytes.IndexByte(s.buf[s.pos+from:s.end], '\n'); n >= 0 {
			return from + n + 1, nil
		}
		if s.eof {
			return 0, nil
		}
		from = s.end - s.pos
		if err := s.fill(); err != nil {
			return 0, err
		}
	}
}

// next returns the next line without its end; it stands until the next call.
// The error is io.EOF at the end of the file.
func (s *source) next() ([]byte, error) {
	n, err := s.find(0)
	if err != nil {
		return nil, err
	}
	if n == 0 {
		return nil, io.EOF
	}
	s.line += s.span
	s.span, s.first, s.length = 1, n, n
	s.pos += n
	line := bytes.TrimSuffix(s.buf[s.pos-n:s.pos-1], []byte{'\r'})
	return line, s.checkText(line)
}

// extend returns the last line together with the one that follows, for a
// quoted field that runs over lines. It returns nil where that may not go on,
// and then the line stands alone again.
func (s *source) extend() ([]byte, error) {
	s.pos -= s.length
	n, err := s.find(s.length)
	if err != nil {
		return nil, err
	}
	if n == 0 || n > maxQuote {
		s.pos += s.first
		s.span, s.length = 1, s.first
		return nil, nil
	}
	s.span++
	s.length = n
	s.pos += n
	line := bytes.TrimSuffix(s.buf[s.pos-n:s.pos-1], []byte{'\r'})
	return line, s.checkText(line)
}

// whole returns the complete lines that are in the buffer, reading on where
// there is none; empty at the end of the file.
func (s *source) whole() ([]byte, error) {
	if n, err := s.find(0); n == 0 || err != nil {
		return nil, err
	}
	return s.buf[s.pos : s.pos+bytes.LastIndexByte(s.buf[s.pos:s.end], '\n')+1], nil
}

// skip uses up n bytes that hold the given number of lines.
func (s *source) skip(n, lines int) {
	s.pos += n
	s.line += lines
}

// checkText refuses bytes that no text file has.
func (s *source) checkText(b []byte) error {
	if bytes.IndexByte(b, 0) >= 0 {
		return s.binary()
	}
	for i := 0; i < len(b); {
		if b[i] < utf8.RuneSelf {
			i++
			continue
		}
		r, size := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && size == 1 {
			return fatal{s.problem("row", "byte %#02x at position %d is not UTF-8 text; save the file as CSV in UTF-8", b[i], i+1)}
		}
		i += size
	}
	return nil
}

func (s *source) binary() error {
	return fatal{s.problem("row", "not a text file (it holds NUL bytes); save it as CSV in UTF-8")}
}

// size is the length of the whole file in bytes, 0 where it cannot be told.
func (s *source) size() int64 {
	switch r := s.r.(type) {
	case interface{ Stat() (fs.FileInfo, error) }:
		if info, err := r.Stat(); err == nil && info.Mode().IsRegular() {
			return info.Size()
		}
	case interface{ Len() int }:
		return s.read + int64(r.Len())
	}
	return 0
}

// rows estimates how many more lines there are, from those in the buffer.
func (s *source) rows() int {
	const most = 8 << 20 // a size that lies must not take all memory
	have := s.buf[s.pos:s.end]
	lines := bytes.Count(have, []byte{'\n'})
	rest := s.size() - s.read
	if lines == 0 || s.eof || rest <= 0 {
		return lines
	}
	more := float64(rest) * float64(lines) / float64(len(have)) * 1.02
	return lines + int(min(more, most)) + 1
}
