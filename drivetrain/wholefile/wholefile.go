// Package wholefile writes a file whole or not at all: beside its place first,
// then renamed, so that a full disk or an interrupt leaves what was there.
package wholefile

import (
	"bufio"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// ErrIncomplete is what the error wraps if a file could be opened, or had no room to be, but
// not be filled: a full disk, say, or an error of fill. Any other error is about the
// name, or the context's.
var ErrIncomplete = errors.New("the file could not be completed")

// Write is [WriteContext] without an end to its patience.
func Write(path string, fill func(io.Writer) error) (replaced bool, err error) {
	return WriteContext(context.Background(), path, fill)
}

// WriteContext fills the file at path by fill and tells whether an older file was
// replaced. A link to a file that is there is followed. What is there but is no regular file, such as a
// device or a pipe, is written to directly, a pipe once there is somebody who reads it. On an error a regular file is as it
// was, and none is left that was not there. It ends early with the context, whose error is then
// returned, even while nobody reads a pipe.
func WriteContext(ctx context.Context, path string, fill func(io.Writer) error) (replaced bool, err error) {
	if target, err := filepath.EvalSymlinks(path); err == nil {
		path = target
	}
	mode := fs.FileMode(0o666) // less the umask
	old, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return false, err
	case old.IsDir():
		return false, fmt.Errorf("%s is a folder; wanted the name of a file", path)
	case !old.Mode().IsRegular():
		return false, direct(ctx, path, fill)
	default:
		replaced = true
		mode = old.Mode().Perm()
		// A file that may not be written is not to be replaced either.
		f, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			return false, err
		}
		f.Close()
	}
	dir, name := filepath.Split(path)
	beside := filepath.Join(dir, "."+name+"."+rand.Text()[:8]+".part")
	f, err := os.OpenFile(beside, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		if noRoom(err) {
			return false, &unfilled{path, err}
		}
		return false, fmt.Errorf("can't write %s: %w", path, reason(err))
	}
	if err = pour(ctx, f, fill); err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = ctx.Err()
	}
	if err == nil {
		err = os.Rename(beside, path)
	}
	if err != nil {
		os.Remove(beside)
		return false, failed(ctx, path, err)
	}
	return replaced, nil
}

// direct writes to what is no regular file. Opening a pipe waits for who reads it, and
// so does writing to it once it is full.
func direct(ctx context.Context, path string, fill func(io.Writer) error) error {
	type opening struct {
		f   *os.File
		err error
	}
	opened := make(chan opening)
	go func() {
		f, err := os.OpenFile(path, os.O_WRONLY, 0)
		select {
		case opened <- opening{f, err}:
		case <-ctx.Done(): // nobody waits any more
			if err == nil {
				f.Close()
			}
		}
	}()
	var o opening
	select {
	case o = <-opened:
	case <-ctx.Done():
		return ctx.Err()
	}
	if o.err != nil {
		return o.err
	}
	stop := context.AfterFunc(ctx, func() { o.f.Close() }) // wakes a write that waits
	err := pour(ctx, o.f, fill)
	if stop() {
		err = errors.Join(err, o.f.Close())
	}
	if err != nil {
		return failed(ctx, path, err)
	}
	return nil
}

// pour fills a file through a buffer, which asks the context each time it is emptied.
func pour(ctx context.Context, w io.Writer, fill func(io.Writer) error) error {
	b := bufio.NewWriterSize(&heeding{ctx, w}, 1<<16)
	if err := fill(b); err != nil {
		return err
	}
	return b.Flush()
}

// heeding is a writer that writes no more once the context has ended.
type heeding struct {
	ctx context.Context
	w   io.Writer
}

func (h *heeding) Write(p []byte) (int, error) {
	if err := h.ctx.Err(); err != nil {
		return 0, err
	}
	return h.w.Write(p)
}

// failed is the error of a file that was opened, but not completed; where the context
// has ended, its error is what counts.
func failed(ctx context.Context, path string, err error) error {
	if end := ctx.Err(); end != nil {
		return end
	}
	return &unfilled{path, err}
}

// unfilled is an error that is [ErrIncomplete].
type unfilled struct {
	path string
	err  error
}

func (u *unfilled) Error() string        { return fmt.Sprintf("can't write %s: %v", u.path, reason(u.err)) }
func (u *unfilled) Unwrap() error        { return u.err }
func (u *unfilled) Is(target error) bool { return target == ErrIncomplete }

// noRoom tells that a file could not even be begun for want of room.
func noRoom(err error) bool { return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) }

// reason takes the name of the file beside out of an error: it means nothing to
// who reads it.
func reason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	var l *os.LinkError
	if errors.As(err, &l) {
		return l.Err
	}
	return err
}
