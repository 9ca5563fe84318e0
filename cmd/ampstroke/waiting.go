package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"time"
)

// What waits for others (a pipe in which no line comes, a reader that has fallen
// asleep) or takes long in one piece ends with the context all the same: the work is
// left to itself, which a program that ends may do.

// within returns what do returns, or the context's error if that ends first. A panic
// of do is the caller's.
func within[T any](ctx context.Context, do func() (T, error)) (T, error) {
	type end struct {
		value T
		err   error
		fault any
	}
	done := make(chan end, 1)
	go func() {
		var e end
		defer func() {
			e.fault = recover()
			done <- e
		}()
		e.value, e.err = do()
	}()
	select {
	case e := <-done:
		if e.fault != nil {
			panic(e.fault)
		}
		return e.value, e.err
	case <-ctx.Done():
		var none T
		return none, ctx.Err()
	}
}

// reader is an input that may keep its readers waiting.
type reader struct {
	ctx  context.Context
	r    io.Reader
	kept []byte // what a read fills, which may go on behind the end
}

func (r *reader) Read(p []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	if len(r.kept) < len(p) {
		r.kept = make([]byte, len(p))
	}
	b := r.kept[:len(p)]
	n, err := within(r.ctx, func() (int, error) { return r.r.Read(b) })
	return copy(p, b[:n]), err
}

// open opens a file for reading; a pipe waits for who writes to it.
func open(ctx context.Context, path string) (*os.File, error) {
	return within(ctx, func() (*os.File, error) { return os.Open(path) })
}

// writer is an output whose readers may keep it waiting. It remembers the first error,
// so that a full disk behind standard output is not passed over.
type writer struct {
	ctx context.Context
	w   io.Writer
	err error
}

func (w *writer) Write(p []byte) (n int, err error) {
	if w.err != nil {
		return 0, w.err
	}
	kept := bytes.Clone(p) // which may be read behind the end
	n, w.err = within(w.ctx, func() (int, error) { return w.w.Write(kept) })
	return n, w.err
}

// grace is how long, behind an interrupt, what has been found may still take to be
// written out.
const grace = 200 * time.Millisecond

// lately returns a context that ends a while behind another one.
func lately(ctx context.Context, while time.Duration) (context.Context, context.CancelFunc) {
	late, end := context.WithCancel(context.WithoutCancel(ctx))
	stop := context.AfterFunc(ctx, func() { time.AfterFunc(while, end) })
	return late, func() { stop(); end() }
}
