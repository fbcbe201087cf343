package port

import (
	"context"
	"io"
	"os"
	"time"
)

// Stream makes a reader of a file or a pipe behave like that of a port: it ends
// with the error of ctx when that is done, and gives way with
// os.ErrDeadlineExceeded after a quarter of a second of silence.
//
// A read of r cannot be broken off in general. Where ctx is done while one
// waits, the goroutine that waits stays until r gives something or ends, so
// this is for the standard input of a program that is about to end.
func Stream(ctx context.Context, r io.Reader) io.Reader {
	s := &stream{ctx: ctx, chunks: make(chan chunk), timer: time.NewTimer(quiet)}
	go s.pump(r)
	return s
}

type chunk struct {
	data []byte
	err  error
}

type stream struct {
	ctx    context.Context
	chunks chan chunk
	timer  *time.Timer
	rest   chunk // what the last Read left over
}

// pump reads r until it ends or ctx is done.
func (s *stream) pump(r io.Reader) {
	for {
		buf := make([]byte, 4096)
		n, err := r.Read(buf)
		select {
		case s.chunks <- chunk{buf[:n], err}:
		case <-s.ctx.Done():
			return
		}
		if err != nil {
			return
		}
	}
}

func (s *stream) Read(b []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	if len(s.rest.data) == 0 && s.rest.err == nil {
		s.timer.Reset(quiet)
		select {
		case s.rest = <-s.chunks:
		case <-s.ctx.Done():
			return 0, s.ctx.Err()
		case <-s.timer.C:
			return 0, os.ErrDeadlineExceeded
		}
	}
	n := copy(b, s.rest.data)
	s.rest.data = s.rest.data[n:]
	if len(s.rest.data) == 0 {
		return n, s.rest.err
	}
	return n, nil
}
