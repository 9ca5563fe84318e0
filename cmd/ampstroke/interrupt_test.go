package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/iotest"
	"time"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/chart"
)

// plainDemo is the demo in plain physics, which costs half as much, for what has nothing
// to do with physics.
const plainDemo = "../../testdata/builds/demo.yaml"

// watched is a context that counts how often it is looked at, and has ended for
// whoever looks more often than that.
type watched struct {
	context.Context
	looks atomic.Int64
	most  int64
}

func (w *watched) Err() error {
	if w.looks.Add(1) > w.most {
		return context.Canceled
	}
	return nil
}

func watch(most int64) *watched { return &watched{Context: context.Background(), most: most} }

// An interrupt ends every command wherever it is: with status 130, nothing on standard
// output, no file but those that are complete and said, and hardly another look at the
// context by each core.
func TestInterruptedAnywhere(t *testing.T) {
	var many []string
	builds := t.TempDir()
	for i := range 20 {
		path := filepath.Join(builds, fmt.Sprintf("%d.yaml", i))
		require.NoError(t, os.WriteFile(path, []byte(demoText()), 0o666))
		many = append(many, path)
	}
	evening := readingsFile(t, fewReadings)
	const dir = "DIR/"
	for _, c := range []struct {
		name  string
		args  []string
		least int64 // looks
	}{
		{"cycle", []string{"cycle", "--json"}, 30},
		{"cycle, with files", []string{"cycle", "--plot", dir + "a.svg", "--trace", dir + "a.csv", "--flight", dir + "b.svg"}, 30},
		{"cycle, pellets and match", []string{"cycle", plainDemo, "--pellets", "0.2 g, 0.3 g", "--match"}, 200},
		{"cycle, delays", []string{"cycle", plainDemo, "--delays", dir + "d.svg", "--set", "trigger.mode=single", "--pull", dir + "p.svg"}, 200},
		{"motor", append([]string{"motor", "--trace", dir + "m.csv"}, many...), 2 * 20},
		{"compare", append([]string{"compare", "--json"}, many[:5]...), 5 * 20},
		{"compare, switches", append([]string{"compare", "../../examples/builds/braked.yaml"}, many[0]), 40},
		{"heat", []string{"heat", "--trace", dir + "h.csv"}, 400},
		{"heat, gauges", []string{"heat", plainDemo, "--gauges"}, 4000},
		{"listen", []string{"listen", "../../testdata/listen/three-bursts.wav", "--plot", dir + "a.svg", "--trace", dir + "a.csv"}, 12},
		{"fit", []string{"fit", plainDemo, evening, "--after", dir + "after.yaml", "--trace", dir + "steps.csv", "--leave-out"}, 400},
		{"search", []string{"search", shelfFile(t, handful), "--json", "--csv", dir + "all.csv", "--plot", dir + "f.svg"}, 20},
		{"listen", []string{"listen", "../../testdata/listen/three-bursts.wav", "--plot", dir + "a.svg", "--trace", dir + "a.csv", "--readings", dir + "a.yaml"}, 12},
		{"spread", append([]string{"spread", plainDemo, "--draws", "128", "--trace", dir + "s.csv", "--plot", dir + "s.svg"}, loose...), 500},
		{"cycle, a sweep", []string{"cycle", "--vary", "motor.armature.turns=20..32", "--plot", dir + "v.svg", "--trace", dir + "v.csv"}, 15},
		{"levers", []string{"levers", plainDemo, "--plot", dir + "l.svg"}, 80},
		{"sheet", []string{"sheet", "--out", dir + "s.html", "--plot", dir + "p.svg"}, 400},
		{"pickup", []string{"pickup", "--after", dir + "after.yaml", "--plot", dir + "p.svg"}, 60},
	} {
		t.Run(c.name, func(t *testing.T) {
			here := func() (string, []string) {
				to, args := t.TempDir(), []string(nil)
				for _, a := range c.args {
					args = append(args, strings.Replace(a, dir, to+string(filepath.Separator), 1))
				}
				return to, args
			}
			all := watch(1 << 60)
			_, args := here()
			o := commandIn(t, all, args...)
			require.Zero(t, o.code, o.stderr)
			total := all.looks.Load()
			require.GreaterOrEqual(t, total, c.least)
			places := int64(2) // and the last
			if everything() {
				places = 6
			}
			for most := int64(0); most < total; most = min(most+1+total/places, max(most+1, total-1)) {
				some := watch(most)
				to, args := here()
				o := commandIn(t, some, args...)
				assert.Equal(t, interrupted, o.code, "after %d of %d looks", most, total)
				assert.Empty(t, o.stdout)
				assert.True(t, strings.HasSuffix(o.stderr, "ampstroke: interrupted\n"), o.stderr)
				assert.LessOrEqual(t, some.looks.Load()-most, int64(5+runtime.GOMAXPROCS(0)), "looks after the interrupt, which came after %d", most)
				entries, err := os.ReadDir(to)
				require.NoError(t, err)
				for _, e := range entries {
					assert.Contains(t, o.stderr, "wrote "+filepath.Join(to, e.Name())+"\n")
				}
			}
		})
	}
}

// What has no look at the context within, because others have to come first, ends with
// it all the same.
func TestWaitingEndsWithTheContext(t *testing.T) {
	sleeps := func(ctx context.Context) error {
		_, err := within(ctx, func() (int, error) { <-t.Context().Done(); return 0, nil })
		return err
	}
	in, _ := io.Pipe()
	_, out := io.Pipe()
	for name, do := range map[string]func(context.Context) error{
		"work": sleeps,
		"input": func(ctx context.Context) error {
			_, err := (&reader{ctx: ctx, r: in}).Read(make([]byte, 10))
			return err
		},
		"output": func(ctx context.Context) error {
			late, end := lately(ctx, time.Millisecond)
			defer end()
			_, err := (&writer{ctx: late, w: out}).Write(make([]byte, 10))
			return err
		},
	} {
		t.Run(name, func(t *testing.T) {
			ctx, stop := context.WithCancel(context.Background())
			time.AfterFunc(20*time.Millisecond, stop)
			assert.Equal(t, context.Canceled, ends(t, func() error { return do(ctx) }))
		})
	}
}

// ends calls what should end by itself.
func ends[T any](t *testing.T, do func() T) (v T) {
	t.Helper()
	done := make(chan T, 1)
	go func() { done <- do() }()
	select {
	case v = <-done:
	case <-time.After(20 * time.Second):
		require.Fail(t, "it does not end")
	}
	return v
}

func TestWithin(t *testing.T) {
	ctx := context.Background()
	v, err := within(ctx, func() (int, error) { return 7, io.EOF })
	assert.Equal(t, 7, v)
	assert.Equal(t, io.EOF, err)
	assert.PanicsWithValue(t, "a fault", func() { _, _ = within(ctx, func() (int, error) { panic("a fault") }) })

	// What was read before the end of an input comes with it.
	r := &reader{ctx: ctx, r: iotest.DataErrReader(strings.NewReader("some text"))}
	text, err := io.ReadAll(r)
	require.NoError(t, err)
	assert.Equal(t, "some text", string(text))
}

// What has been found before an interrupt is still written out.
func TestOutputBehindAnInterrupt(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	late, end := lately(ctx, time.Hour)
	defer end()
	stop()
	time.Sleep(10 * time.Millisecond) // whoever ends with the first context has done so
	var b bytes.Buffer
	_, err := (&writer{ctx: late, w: slow{&b}}).Write([]byte("found"))
	require.NoError(t, err)
	assert.Equal(t, "found", b.String())
}

// slow is an output that takes its time.
type slow struct{ w io.Writer }

func (s slow) Write(p []byte) (int, error) {
	time.Sleep(20 * time.Millisecond)
	return s.w.Write(p)
}

// A batch whose next line does not come, and a build that does not, end with the
// context; what has been found is there.
func TestInterruptedWaitingForInput(t *testing.T) {
	for _, c := range []struct {
		name, given string
		args        []string
		lines       int
	}{
		{"batch", "{}\n{\"motor.armature.turns\": 22}\n", []string{"cycle", "--batch", "-"}, 2},
		{"batch without a line", "", []string{"cycle", "--batch", "-"}, 0},
		{"half a line", "{}\n{\"mot", []string{"cycle", "--batch", "-"}, 1},
		{"build", "name: a gun\n", []string{"cycle", "-"}, 0},
		{"recording", "RIFF", []string{"listen", "-"}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			in, give := io.Pipe()
			defer give.Close()
			ctx, stop := context.WithCancel(context.Background())
			defer stop()
			found, stdout := io.Pipe()
			lines := make(chan string)
			go func() {
				defer close(lines)
				for all := bufio.NewScanner(found); all.Scan(); {
					lines <- all.Text()
				}
			}()
			go func() {
				_, err := io.WriteString(give, c.given)
				assert.NoError(t, err)
				for range c.lines {
					assert.Contains(t, <-lines, `"rate_of_fire_hz"`)
				}
				stop()
			}()
			var stderr bytes.Buffer
			code := ends(t, func() int { return status(run(ctx, c.args, in, stdout, &stderr), &stderr) })
			assert.Equal(t, interrupted, code)
			assert.Equal(t, "ampstroke: interrupted\n", stderr.String())
			stdout.Close()
			_, more := <-lines
			assert.False(t, more)
		})
	}
}

// asleep is an output whose reader takes nothing, and says when it is waited for.
type asleep struct {
	asked chan struct{}
	once  sync.Once
	until <-chan struct{}
}

func (a *asleep) Write([]byte) (int, error) {
	a.once.Do(func() { close(a.asked) })
	<-a.until
	return 0, io.ErrClosedPipe
}

// Results that nobody takes end with the context, too.
func TestInterruptedWhileNobodyTakesTheOutput(t *testing.T) {
	for _, args := range [][]string{{"cycle"}, {"cycle", "--json"}, {"motor"}, {"heat"}, {"cycle", "--batch", "-"}, {"listen", "../../testdata/listen/plain.wav"}} {
		t.Run(strings.Join(args, " "), func(t *testing.T) {
			ctx, stop := context.WithCancel(context.Background())
			defer stop()
			out := &asleep{asked: make(chan struct{}), until: t.Context().Done()}
			go func() {
				<-out.asked
				stop()
			}()
			var stderr bytes.Buffer
			code := ends(t, func() int {
				return status(run(ctx, args, strings.NewReader("{}\n"), out, &stderr), &stderr)
			})
			assert.Equal(t, interrupted, code)
			assert.Equal(t, "ampstroke: interrupted\n", stderr.String())
		})
	}
}

// A picture is drawn in one piece, and is not waited for.
func TestInterruptedWhileItDraws(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	c := &cobra.Command{}
	c.SetContext(ctx)
	path := filepath.Join(t.TempDir(), "a.png")
	err := ends(t, func() error {
		return draw(c, path, func() (*chart.Picture, error) {
			stop()
			<-t.Context().Done()
			return nil, t.Context().Err()
		})
	})
	assert.Equal(t, context.Canceled, err)
	assert.NoFileExists(t, path)
}
