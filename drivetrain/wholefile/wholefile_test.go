package wholefile_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/wholefile"
)

func text(s string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
}

func names(t *testing.T, dir string) (all []string) {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}

func TestWrite(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a file.txt")
	replaced, err := wholefile.Write(path, text("one"))
	require.NoError(t, err)
	require.False(t, replaced)
	replaced, err = wholefile.Write(path, text("two"))
	require.NoError(t, err)
	require.True(t, replaced)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "two", string(data))
	require.Equal(t, []string{"a file.txt"}, names(t, dir), "nothing else is left")
}

func TestWriteFailureKeepsTheOldFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "kept.txt")
	_, err := wholefile.Write(path, text("old"))
	require.NoError(t, err)
	full := errors.New("no space left")
	_, err = wholefile.Write(path, func(w io.Writer) error {
		io.WriteString(w, "half")
		return full
	})
	require.ErrorIs(t, err, full)
	require.ErrorIs(t, err, wholefile.ErrIncomplete)
	require.EqualError(t, err, "can't write "+path+": no space left")
	_, err = wholefile.Write(filepath.Join(dir, "new.txt"), func(io.Writer) error { return full })
	require.ErrorIs(t, err, full)
	require.ErrorIs(t, err, wholefile.ErrIncomplete)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "old", string(data))
	require.Equal(t, []string{"kept.txt"}, names(t, dir))
}

func TestWriteRefuses(t *testing.T) {
	dir := t.TempDir()
	_, err := wholefile.Write(dir, text("x"))
	require.ErrorContains(t, err, "is a folder")
	require.NotErrorIs(t, err, wholefile.ErrIncomplete, "it is the name that is wrong")
	_, err = wholefile.Write(filepath.Join(dir, "missing", "f"), text("x"))
	require.ErrorIs(t, err, os.ErrNotExist)
	require.NotContains(t, err.Error(), ".part")
	require.NotErrorIs(t, err, wholefile.ErrIncomplete)
}

// An interrupt before the end leaves what was there: within fill, and behind it.
func TestWriteInterrupted(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "kept.txt")
	_, err := wholefile.Write(path, text("old"))
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	written := 0
	_, err = wholefile.WriteContext(ctx, path, func(w io.Writer) error {
		for range 100 {
			if written == 50 {
				stop()
			}
			if _, err := w.Write(make([]byte, 1<<17)); err != nil {
				return err
			}
			written++
		}
		return nil
	})
	require.Equal(t, context.Canceled, err)
	require.Equal(t, 50, written, "no more is written after it")
	ctx, stop = context.WithCancel(context.Background())
	_, err = wholefile.WriteContext(ctx, path, func(w io.Writer) error { stop(); return nil })
	require.Equal(t, context.Canceled, err)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "old", string(data))
	require.Equal(t, []string{"kept.txt"}, names(t, dir))
}

func TestWriteFollowsLinksAndKeepsTheMode(t *testing.T) {
	dir := t.TempDir()
	path, link := filepath.Join(dir, "target"), filepath.Join(dir, "link")
	require.NoError(t, os.WriteFile(path, []byte("old"), 0o640))
	require.NoError(t, os.Symlink(path, link))
	replaced, err := wholefile.Write(link, text("new"))
	require.NoError(t, err)
	require.True(t, replaced)
	info, err := os.Lstat(link)
	require.NoError(t, err)
	require.NotZero(t, info.Mode()&os.ModeSymlink, "the link is still one")
	info, err = os.Stat(path)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o640), info.Mode().Perm())
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "new", string(data))
}

func TestWriteToDevice(t *testing.T) {
	replaced, err := wholefile.Write(os.DevNull, text("gone"))
	require.NoError(t, err)
	require.False(t, replaced)
	info, err := os.Stat(os.DevNull)
	require.NoError(t, err)
	require.False(t, info.Mode().IsRegular(), "the device is still one")
}

func ExampleWrite() {
	dir, _ := os.MkdirTemp("", "example")
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "figures.txt")
	for range 2 {
		replaced, err := wholefile.Write(path, text("22 rounds a second\n"))
		fmt.Println(replaced, err)
	}
	// Output:
	// false <nil>
	// true <nil>
}
