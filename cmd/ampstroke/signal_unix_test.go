//go:build unix

package main

import (
	"bufio"
	"context"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/listen/listentest"
)

// started is a run of the program.
type started struct {
	*exec.Cmd
	stdin          io.WriteCloser
	stdout, stderr *bufio.Reader
}

// start begins a run, which is killed if it takes too long.
func start(t *testing.T, program string, args ...string) *started {
	ctx, stop := context.WithTimeout(context.Background(), 30*time.Second)
	t.Cleanup(stop)
	s := &started{Cmd: exec.CommandContext(ctx, program, args...)}
	var err error
	s.stdin, err = s.StdinPipe()
	require.NoError(t, err)
	stdout, err := s.StdoutPipe()
	require.NoError(t, err)
	stderr, err := s.StderrPipe()
	require.NoError(t, err)
	s.stdout, s.stderr = bufio.NewReader(stdout), bufio.NewReader(stderr)
	require.NoError(t, s.Start())
	return s
}

// line waits for a line.
func line(t *testing.T, r *bufio.Reader) string {
	text, err := r.ReadString('\n')
	require.NoError(t, err)
	return text
}

// interruptedBy sends a signal, and holds that the first one ends the run with status
// 130 and a word.
func (s *started) interruptedBy(t *testing.T, signal os.Signal) {
	require.NoError(t, s.Process.Signal(signal))
	said, err := io.ReadAll(s.stderr)
	require.NoError(t, err)
	_ = s.Wait()
	assert.Equal(t, interrupted, s.ProcessState.ExitCode(), "%v", s.ProcessState)
	assert.Equal(t, "ampstroke: interrupted\n", string(said))
}

// The first signal of either kind ends a batch that waits for its next line, be it from
// standard input or from a pipe with a name.
func TestSignalWhileNoLineComes(t *testing.T) {
	program := built(t)
	for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		t.Run(signal.String(), func(t *testing.T) {
			s := start(t, program, "cycle", "--batch", "-")
			_, err := io.WriteString(s.stdin, "{}\n")
			require.NoError(t, err)
			assert.Contains(t, line(t, s.stdout), `"rate_of_fire_hz"`) // it waits by now, or is about to
			s.interruptedBy(t, signal)

			pipe := filepath.Join(t.TempDir(), "study.jsonl")
			require.NoError(t, syscall.Mkfifo(pipe, 0o600))
			s = start(t, program, "cycle", "--batch", pipe)
			give, err := os.OpenFile(pipe, os.O_WRONLY, 0) // which waits for the program
			require.NoError(t, err)
			defer give.Close()
			_, err = io.WriteString(give, "{}\n")
			require.NoError(t, err)
			assert.Contains(t, line(t, s.stdout), `"rate_of_fire_hz"`)
			s.interruptedBy(t, signal)
		})
	}
}

// The first signal ends a run that waits for somebody who reads its picture or trace.
// What was written before is said, so that the run is there by then, or is about to be.
func TestSignalWhileNobodyReads(t *testing.T) {
	program := built(t)
	for _, args := range [][]string{
		{"motor", "--plot", "a.svg", "--trace", "pipe.csv"},
		{"cycle", "--plot", "a.svg", "--trace", "pipe.csv"},
		{"cycle", "--plot", "a.svg", "--flight", "pipe.svg"},
		{"pickup", "--plot", "a.svg", "--after", "pipe.yaml"},
	} {
		t.Run(strings.Join(args, " "), func(t *testing.T) {
			t.Chdir(t.TempDir())
			pipe := args[len(args)-1]
			require.NoError(t, syscall.Mkfifo(pipe, 0o600))
			s := start(t, program, args...)
			assert.Equal(t, "wrote a.svg\n", line(t, s.stderr))
			s.interruptedBy(t, syscall.SIGINT)
			info, err := os.Stat(pipe)
			require.NoError(t, err)
			assert.Equal(t, os.ModeNamedPipe, info.Mode().Type(), "it is still one")
			entries, err := os.ReadDir(".")
			require.NoError(t, err)
			assert.Len(t, entries, 2, "nothing else is left")
		})
	}
}

// A batch from a pipe that nobody has opened for writing yet ends as well.
func TestInterruptedBeforeThePipe(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, syscall.Mkfifo("study.jsonl", 0o600))
	ctx, stop := context.WithCancel(context.Background())
	time.AfterFunc(50*time.Millisecond, stop)
	o := ends(t, func() outcome { return commandIn(t, ctx, "cycle", "--batch", "study.jsonl") })
	assert.Equal(t, outcome{interrupted, "", "ampstroke: interrupted\n"}, o)
}

// A recording from a pipe in which the rest of the sound doesn't come ends as well.
func TestInterruptedAmidASound(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, syscall.Mkfifo("shots.wav", 0o600))
	ctx, stop := context.WithCancel(context.Background())
	go func() {
		give, err := os.OpenFile("shots.wav", os.O_WRONLY, 0) // which waits for the program
		if assert.NoError(t, err) {
			defer give.Close()
			_, err = give.Write(listentest.WAV(8000, listentest.Kind{Bits: 16}, make([]float64, 1000))[:1500])
			assert.NoError(t, err)
			time.AfterFunc(100*time.Millisecond, stop) // by when the rest is waited for
			<-t.Context().Done()
		}
	}()
	o := ends(t, func() outcome { return commandIn(t, ctx, "listen", "shots.wav", "--json") })
	assert.Equal(t, outcome{interrupted, "", "ampstroke: interrupted\n"}, o)
}

// A pipe that somebody reads gets all of a file, and the other end of a batch is a
// pipe as well.
func TestPipesInAndOut(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, name := range []string{"study.jsonl", "a.csv"} {
		require.NoError(t, syscall.Mkfifo(name, 0o600))
	}
	go func() { assert.NoError(t, os.WriteFile("study.jsonl", []byte("{}\n[]"), 0)) }()
	o := ends(t, func() outcome { return command(t, "cycle", "--batch", "study.jsonl") })
	assert.Zero(t, o.code, o.stderr)
	assert.Equal(t, 2, strings.Count(o.stdout, "\n"))
	got := make(chan string)
	go func() {
		data, err := os.ReadFile("a.csv")
		assert.NoError(t, err)
		got <- string(data)
	}()
	o = ends(t, func() outcome { return command(t, "cycle", "--trace", "a.csv") })
	assert.Zero(t, o.code, o.stderr)
	require.Zero(t, command(t, "cycle", "--trace", "b.csv").code)
	want, err := os.ReadFile("b.csv")
	require.NoError(t, err)
	assert.Equal(t, string(want), <-got)
}
