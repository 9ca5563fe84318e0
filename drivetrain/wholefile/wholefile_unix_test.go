//go:build unix

package wholefile_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/wholefile"
)

// patience is when a test gives up on what should end by itself.
const patience = 30 * time.Second

// ends calls a function that should end by itself, and returns its error.
func ends(t *testing.T, do func() error) error {
	t.Helper()
	done := make(chan error, 1)
	go func() { done <- do() }()
	select {
	case err := <-done:
		return err
	case <-time.After(patience):
		require.Fail(t, "it does not end")
		return nil
	}
}

func pipe(t *testing.T) string {
	path := filepath.Join(t.TempDir(), "a pipe")
	require.NoError(t, syscall.Mkfifo(path, 0o600))
	return path
}

func TestPipeThatNobodyReads(t *testing.T) {
	path := pipe(t)
	ctx, stop := context.WithCancel(context.Background())
	time.AfterFunc(50*time.Millisecond, stop)
	err := ends(t, func() error {
		_, err := wholefile.WriteContext(ctx, path, text("unread"))
		return err
	})
	assert.Equal(t, context.Canceled, err)

	// Whoever comes to read it afterwards finds nothing, rather than waiting for good.
	assert.NoError(t, ends(t, func() error {
		data, err := os.ReadFile(path)
		assert.Empty(t, data)
		return err
	}))
}

func TestPipeWhoseReaderFallsAsleep(t *testing.T) {
	path := pipe(t)
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	go func() {
		f, err := os.Open(path)
		if assert.NoError(t, err) {
			defer f.Close()
			_, err = io.ReadFull(f, make([]byte, 100))
			assert.NoError(t, err)
			stop()
			<-time.After(patience)
		}
	}()
	large := bytes.Repeat([]byte("more than a pipe holds "), 1<<16)
	err := ends(t, func() error {
		_, err := wholefile.WriteContext(ctx, path, func(w io.Writer) error { _, err := w.Write(large); return err })
		return err
	})
	assert.Equal(t, context.Canceled, err)
}

func TestPipe(t *testing.T) {
	path := pipe(t)
	read := make(chan string)
	go func() {
		data, err := os.ReadFile(path)
		assert.NoError(t, err)
		read <- string(data)
	}()
	replaced, err := wholefile.Write(path, text("read"))
	require.NoError(t, err)
	assert.False(t, replaced)
	assert.Equal(t, "read", <-read)

	// A reader that leaves early is one that the file could not be completed for.
	gone := errors.New("the reader has left")
	go func() {
		f, err := os.Open(path)
		if assert.NoError(t, err) {
			f.Close()
		}
		read <- ""
	}()
	_, err = wholefile.Write(path, func(w io.Writer) error {
		<-read
		_, err := w.Write(make([]byte, 1<<20))
		return errors.Join(gone, err)
	})
	assert.ErrorIs(t, err, wholefile.ErrIncomplete)
	assert.ErrorIs(t, err, syscall.EPIPE)
	assert.ErrorIs(t, err, gone)
}
