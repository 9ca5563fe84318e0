// Package examples runs the examples against their expected output.
package examples

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each example is a folder with main.go and expected.txt. It runs in a copy of
// its folder, so that what it writes is gone with the test.
func TestExamples(t *testing.T) {
	mains, err := filepath.Glob("*/main.go")
	require.NoError(t, err)
	require.NotEmpty(t, mains)
	for _, main := range mains {
		dir := filepath.Dir(main)
		t.Run(dir, func(t *testing.T) {
			work := t.TempDir()
			program := filepath.Join(work, "program")
			out, err := exec.Command("go", "build", "-o", program, "./"+dir).CombinedOutput()
			require.NoError(t, err, "%s", out)
			require.NoError(t, os.CopyFS(filepath.Join(work, "files"), os.DirFS(dir)))
			run := exec.Command(program)
			run.Dir = filepath.Join(work, "files")
			got, err := run.Output()
			require.NoError(t, err)
			want, err := os.ReadFile(filepath.Join(dir, "expected.txt"))
			require.NoError(t, err)
			assert.Equal(t, string(want), string(got))
			assert.FileExists(t, filepath.Join(run.Dir, "cycle.png"))
		})
	}
}
