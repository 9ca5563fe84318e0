package examples

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A program of another module makes its way with what the packages export. It stands in
// testdata/importer; the module around it has this one's requirements, and no others.
func TestImporter(t *testing.T) {
	root, err := filepath.Abs("..")
	require.NoError(t, err)
	dir := t.TempDir()
	read := func(path string) string {
		text, err := os.ReadFile(filepath.Join(root, path))
		require.NoError(t, err)
		return string(text)
	}
	put := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	for _, name := range []string{"main.go", "day.yaml"} {
		put(name, read("testdata/importer/"+name))
	}
	own := regexp.MustCompile(`(?m)^module .*$`).ReplaceAllString(read("go.mod"), "module example.org/importer")
	put("go.mod", own+"\nrequire example.org/ampstroke v0.0.0\n\nreplace example.org/ampstroke => "+root+"\n")
	put("go.sum", read("go.sum"))

	command := func(args ...string) string {
		c := exec.CommandContext(t.Context(), "go", args...)
		c.Dir = dir
		c.Env = append(os.Environ(), "GOFLAGS=-mod=mod", "GOWORK=off", "GOPROXY=off")
		text, err := c.CombinedOutput()
		require.NoError(t, err, "go %v: %s", args, text)
		return string(text)
	}
	command("vet", ".")
	expect(t, filepath.Join(root, "testdata/importer/expected.txt"), []byte(command("run", "-ldflags=-w", ".")))
	picture, err := os.ReadFile(filepath.Join(dir, "cycle.png"))
	require.NoError(t, err)
	assert.Equal(t, "\x89PNG", string(picture[:4]))
}
