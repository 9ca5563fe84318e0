// Package examples runs the examples against their expected output.
package examples

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the expected output anew")

// expect holds an output against a file.
func expect(t *testing.T, path string, got []byte) {
	if *update {
		require.NoError(t, os.WriteFile(path, got, 0o666))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))
}

// built are the command and all examples as programs, made at once for all tests, without
// what only a debugger reads.
var built = sync.OnceValue(func() error {
	args := []string{"build", "-ldflags=-w", "-o", bin, "../cmd/ampstroke"}
	mains, err := filepath.Glob("*/main.go")
	for _, main := range mains {
		args = append(args, "./"+filepath.Dir(main))
	}
	if err != nil {
		return err
	}
	if out, err := exec.Command("go", args...).CombinedOutput(); err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	return nil
})

// program returns the path of one.
func program(name string) (string, error) {
	return filepath.Join(bin, name), built()
}

func ampstroke() (string, error) { return program("ampstroke") }

// bin is where they are built.
var bin string

func TestMain(m *testing.M) {
	os.Exit(func() int {
		var err error
		if bin, err = os.MkdirTemp("", "ampstroke"); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer os.RemoveAll(bin)
		return m.Run()
	}())
}

var pictures = regexp.MustCompile(`"(\w+\.png)"`)

// Each example is a folder with main.go and expected.txt. It runs in a copy of
// its folder, so that what it writes is gone with the test.
func TestExamples(t *testing.T) {
	mains, err := filepath.Glob("*/main.go")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(mains), 3)
	for _, main := range mains {
		dir := filepath.Dir(main)
		t.Run(dir, func(t *testing.T) {
			work := filepath.Join(t.TempDir(), "files")
			require.NoError(t, os.CopyFS(work, os.DirFS(dir)))
			path, err := program(dir)
			require.NoError(t, err)
			run := exec.Command(path)
			run.Dir = work
			got, err := run.Output()
			require.NoError(t, err)
			expect(t, filepath.Join(dir, "expected.txt"), got)
			text, err := os.ReadFile(main)
			require.NoError(t, err)
			named := pictures.FindAllSubmatch(text, -1)
			require.NotEmpty(t, named, "every example draws a picture")
			for _, name := range named {
				assert.FileExists(t, filepath.Join(work, string(name[1])))
			}
		})
	}
}

// Each build file in builds has what the command says of it beside it.
func TestBuilds(t *testing.T) {
	command, err := ampstroke()
	require.NoError(t, err)
	builds, err := filepath.Glob("builds/*.yaml")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(builds), 6)
	for _, build := range builds {
		t.Run(filepath.Base(build), func(t *testing.T) {
			text, err := os.ReadFile(build)
			require.NoError(t, err)
			assert.Contains(t, string(text), "Invented", "it says so")
			got, err := exec.Command(command, "cycle", build).Output()
			require.NoError(t, err)
			expect(t, strings.TrimSuffix(build, ".yaml")+".txt", got)
		})
	}
	got, err := exec.Command(command, append([]string{"compare"}, builds...)...).Output()
	require.NoError(t, err)
	expect(t, "builds/compare.txt", got)
	got, err = exec.Command(command, append([]string{"motor"}, builds...)...).Output()
	require.NoError(t, err)
	expect(t, "builds/motors.txt", got)
}

// The shelf has what the command says of it beside it; what the file of the best build
// does is what is listed.
func TestShelf(t *testing.T) {
	command, err := ampstroke()
	require.NoError(t, err)
	const shelf = "shelf/drawer.shelf.yaml"
	for _, path := range []string{shelf, "shelf/rifle.yaml", "shelf/parts/spring-heavy.yaml"} {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Contains(t, string(text), "Invented", "it says so")
	}
	got, err := exec.Command(command, "search", shelf).Output()
	require.NoError(t, err)
	expect(t, "shelf/drawer.txt", got)

	best := regexp.MustCompile(`(?m)^  (\d+) +([\d.]+)  ([\d.]+ /s) `).FindSubmatch(got)
	require.NotNil(t, best, "a number, a price, a rate")
	path := filepath.Join(t.TempDir(), "best.yaml")
	require.NoError(t, exec.Command(command, "search", shelf, "--after", string(best[1]), path).Run())
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Contains(t, string(text), string(best[2])+" EUR")
	got, err = exec.Command(command, "cycle", path).Output()
	require.NoError(t, err)
	assert.Contains(t, string(got), string(best[3]))
	assert.Contains(t, string(got), "target met")
}

// A build that misses its target has beside it what would meet it.
func TestLevers(t *testing.T) {
	command, err := ampstroke()
	require.NoError(t, err)
	builds, err := filepath.Glob("builds/*.yaml")
	require.NoError(t, err)
	seen := 0
	for _, build := range builds {
		name := strings.TrimSuffix(build, ".yaml")
		text, err := os.ReadFile(name + ".txt")
		require.NoError(t, err)
		if !strings.Contains(string(text), "\ntarget MISSED: ") {
			continue
		}
		seen++
		got, err := exec.Command(command, "levers", build).Output()
		require.NoError(t, err)
		expect(t, name+".levers.txt", got)
	}
	assert.Positive(t, seen)
}

// said lists what a build's comments say of a key: "# Cure: gears.ratio=12".
func said(text, key string) (all []string) {
	for _, line := range strings.Split(text, "\n") {
		if value, ok := strings.CutPrefix(line, "# "+key+": "); ok {
			all = append(all, value)
		}
	}
	return all
}

// The builds that name a plan get too hot under it in the part that they name; with
// the cure that they name, none of their parts does.
func TestHeat(t *testing.T) {
	command, err := ampstroke()
	require.NoError(t, err)
	builds, err := filepath.Glob("builds/*.yaml")
	require.NoError(t, err)
	seen := map[string]bool{}
	for _, build := range builds {
		data, err := os.ReadFile(build)
		require.NoError(t, err)
		text := string(data)
		plan := said(text, "Plan")
		if len(plan) == 0 {
			continue
		}
		t.Run(filepath.Base(build), func(t *testing.T) {
			args := []string{"heat", build, "--plan", "builds/plans/" + plan[0] + ".yaml"}
			cured := args
			for _, set := range said(text, "Cure") {
				cured = append(cured[:len(cured):len(cured)], "--set", set)
			}
			require.Greater(t, len(cured), len(args), "each has its cure")
			first := func(args []string) (part *string) {
				out, err := exec.Command(command, append(args[:len(args):len(args)], "--json")...).Output()
				require.NoError(t, err)
				var r struct {
					First *string `json:"first_to_give_out"`
				}
				require.NoError(t, json.Unmarshal(out, &r))
				return r.First
			}
			got := first(args)
			require.NotNil(t, got)
			assert.Equal(t, said(text, "Gives out"), []string{*got})
			assert.Nil(t, first(cured))
			seen[*got] = true

			var output []byte
			for _, a := range [][]string{args, cured} {
				out, err := exec.Command(command, a...).Output()
				require.NoError(t, err)
				body, _, _ := strings.Cut(string(out), "\ncautions\n")
				output = append(output, "$ ampstroke"...)
				for _, word := range a {
					if strings.ContainsAny(word, " {") {
						word = "'" + word + "'"
					}
					output = append(output, " "+word...)
				}
				output = append(output, "\n"+body+"\n"...)
			}
			expect(t, strings.TrimSuffix(build, ".yaml")+".heat.txt", output)
		})
	}
	assert.Equal(t, map[string]bool{"leads": true, "winding": true, "switch": true}, seen)
}

// Each file of readings names the build that they were taken of, and has what the command
// says of the two beside it, with a picture. The corrected build is as good a build file.
func TestReadings(t *testing.T) {
	command, err := ampstroke()
	require.NoError(t, err)
	files, err := filepath.Glob("builds/readings/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			text := string(data)
			assert.Contains(t, text, "Invented", "it says so")
			name := said(text, "Build")
			require.Len(t, name, 1)
			build := "builds/" + name[0] + ".yaml"
			after, picture := filepath.Join(t.TempDir(), "after.yaml"), filepath.Join(t.TempDir(), "fit.png")
			out, err := exec.Command(command, "fit", build, file, "--after", after, "--plot", picture).Output()
			require.NoError(t, err)
			body, _, _ := strings.Cut(string(out), "\ncautions\n")
			expect(t, strings.TrimSuffix(file, ".yaml")+".txt", []byte("$ ampstroke fit "+build+" "+file+"\n"+body))
			drawn, err := os.ReadFile(picture)
			require.NoError(t, err)
			beside := strings.TrimSuffix(file, ".yaml") + ".png"
			if *update {
				require.NoError(t, os.WriteFile(beside, drawn, 0o666))
			}
			assert.FileExists(t, beside)
			corrected, err := os.ReadFile(after)
			require.NoError(t, err)
			assert.Contains(t, string(corrected), "not proved of this gun")
			assert.Contains(t, string(corrected), "Invented", "the comments stay")
			_, err = exec.Command(command, "cycle", after).Output()
			assert.NoError(t, err)
		})
	}
}

// The builds that say so have what spread says of them beside them.
func TestSpread(t *testing.T) {
	command, err := ampstroke()
	require.NoError(t, err)
	builds, err := filepath.Glob("builds/*.yaml")
	require.NoError(t, err)
	seen := 0
	for _, build := range builds {
		data, err := os.ReadFile(build)
		require.NoError(t, err)
		for _, with := range said(string(data), "Spread") {
			seen++
			args := append([]string{"spread", build}, strings.Fields(with)...)
			out, err := exec.Command(command, args...).Output()
			require.NoError(t, err)
			body, _, _ := strings.Cut(string(out), "\ncautions\n")
			expect(t, strings.TrimSuffix(build, ".yaml")+".spread.txt", []byte("$ ampstroke "+strings.Join(args, " ")+"\n"+body))
		}
	}
	assert.Positive(t, seen)
}
