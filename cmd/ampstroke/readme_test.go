package main

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What the README shows of its first command is what that prints.
func TestReadmeShowsTheDemo(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	_, shown, found := strings.Cut(string(text), "cycle.png)\n\n") // behind the picture
	require.True(t, found)
	shown, _, _ = strings.Cut(shown, "## Cautions")
	printed := strings.Split(command(t, "cycle").stdout, "\n")
	lines := 0
	for _, line := range strings.Split(shown, "\n") {
		line = strings.TrimPrefix(line, "    ")
		if line == "" || line == "..." {
			continue
		}
		assert.Contains(t, printed, line)
		lines++
	}
	assert.Greater(t, lines, 12)
}
