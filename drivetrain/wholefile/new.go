package wholefile

import (
	"context"
	"crypto/rand"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// WriteNew is [WriteContext] for a file that must not be there yet: whatever is there,
// a link that leads nowhere included, stays as it is, and the error is [fs.ErrExist]. So
// it is where somebody else makes the file in the meantime.
func WriteNew(ctx context.Context, path string, fill func(io.Writer) error) error {
	if _, err := os.Lstat(path); err == nil {
		return &fs.PathError{Op: "write", Path: path, Err: fs.ErrExist}
	}
	dir, name := filepath.Split(path)
	beside := filepath.Join(dir, "."+name+"."+rand.Text()[:8]+".part")
	if _, err := WriteContext(ctx, beside, fill); err != nil {
		var u *unfilled
		if errors.As(err, &u) {
			u.path = path
		}
		return err
	}
	defer os.Remove(beside)
	// A link, other than a rename, replaces nothing.
	err := os.Link(beside, path)
	if err == nil || errors.Is(err, fs.ErrExist) {
		return err
	}
	// There are no links here: keep the name first, then put the file there.
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	f.Close()
	if err = os.Rename(beside, path); err != nil {
		os.Remove(path)
		return failed(ctx, path, err)
	}
	return nil
}
