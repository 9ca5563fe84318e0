package wholefile_test

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/wholefile"
)

func TestWriteNew(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	path := filepath.Join(dir, "a file.txt")
	require.NoError(t, wholefile.WriteNew(ctx, path, text("one")))
	err := wholefile.WriteNew(ctx, path, text("two"))
	require.ErrorIs(t, err, fs.ErrExist)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "one", string(data))
	require.Equal(t, []string{"a file.txt"}, names(t, dir), "nothing else is left")
}

func TestWriteNewLeavesNothing(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	path := filepath.Join(dir, "new.txt")
	full := errors.New("no space left")
	err := wholefile.WriteNew(ctx, path, func(w io.Writer) error {
		io.WriteString(w, "half")
		return full
	})
	require.ErrorIs(t, err, full)
	require.ErrorIs(t, err, wholefile.ErrIncomplete)
	require.EqualError(t, err, "can't write "+path+": no space left")
	ended, end := context.WithCancel(ctx)
	end()
	require.ErrorIs(t, wholefile.WriteNew(ended, path, text("one")), context.Canceled)
	require.Empty(t, names(t, dir))
}

// Somebody else makes the file while it is being filled.
func TestWriteNewInTheMeantime(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "new.txt")
	err := wholefile.WriteNew(context.Background(), path, func(w io.Writer) error {
		require.NoError(t, os.WriteFile(path, []byte("theirs"), 0o666))
		_, err := io.WriteString(w, "ours")
		return err
	})
	require.ErrorIs(t, err, fs.ErrExist)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "theirs", string(data))
	require.Equal(t, []string{"new.txt"}, names(t, dir))
}
