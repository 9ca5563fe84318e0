// Package wholefile writes a file whole or not at all: beside its place first,
// then renamed, so that a full disk or an interrupt leaves what was there.
package wholefile

import (
	"bufio"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Write fills the file at path by fill and tells whether an older file was
// replaced. A link to a file that is there is followed. What is there but is no regular file, such as a
// device or a pipe, is written to directly. On an error a regular file is as it
// was, and none is left that was not there.
func Write(path string, fill func(io.Writer) error) (replaced bool, err error) {
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
		return false, direct(path, fill)
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
		return false, fmt.Errorf("can't write %s: %w", path, reason(err))
	}
	if err = pour(f, fill); err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(beside, path)
	}
	if err != nil {
		os.Remove(beside)
		return false, fmt.Errorf("can't write %s: %w", path, reason(err))
	}
	return replaced, nil
}

func direct(path string, fill func(io.Writer) error) error {
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	return errors.Join(pour(f, fill), f.Close())
}

func pour(w io.Writer, fill func(io.Writer) error) error {
	b := bufio.NewWriter(w)
	if err := fill(b); err != nil {
		return err
	}
	return b.Flush()
}

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
