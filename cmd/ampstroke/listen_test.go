package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/listen/listentest"
)

const recordings = "../../testdata/listen/"

// recorded writes a sound to a file and returns its path.
func recorded(t *testing.T, file []byte) string {
	path := filepath.Join(t.TempDir(), "shots.wav")
	require.NoError(t, os.WriteFile(path, file, 0o666))
	return path
}

func TestListen(t *testing.T) {
	o := command(t, "listen", recordings+"plain.wav")
	require.Zero(t, o.code, o.stderr)
	assert.Empty(t, o.stderr)
	assert.True(t, strings.HasPrefix(o.stdout, "plain.wav: 22.07 /s ± 0.02 /s, 22 shots, 1 burst\n"), o.stdout)
	assert.Regexp(t, `(?m)^  rate of fire +22\.07 /s ± 0\.02 /s  ± is two standard deviations$`, o.stdout)
	assert.Regexp(t, `(?m)^  rounds a minute +1324$`, o.stdout)
	assert.Regexp(t, `(?m)^  0\.150 s +22 +0 +22\.07 ± 0\.02 /s +-0\.015 /s +0\.50 ms +counts$`, o.stdout)
	assert.True(t, strings.HasSuffix(o.stdout, "\n- {figure: rate_of_fire, value: 22.07 /s ± 0.05 /s}   # heard in plain.wav: 22 shots, 1 burst\n"), "the last line is to be pasted")
	assert.Contains(t, o.stdout, "Wear eye protection")

	o = command(t, "listen", recordings+"clipped-hum.wav")
	require.Zero(t, o.code, o.stderr)
	tells(t, o.stderr, "warning: the sound is clipped: it was louder than the recorder takes, which blurs the shots; record from further away, or with the gain down [clipped]")
	assert.Contains(t, o.stdout, "single shots, or other loud sounds, at 1.261 s\n")
	assert.Contains(t, o.stdout, "18.59 /s ± 0.04 /s}   # heard in clipped-hum.wav: 19 shots, 1 burst and 1 single shot\n")

	o = command(t, "listen", recordings+"voices.wav")
	assert.Regexp(t, `(?m)^  0\.039 s .* faint$`, o.stdout)
	tells(t, o.stdout, "faint: weaker than a quarter of the loudest")
	assert.Contains(t, command(t, "listen", recordings+"quick-truncated.wav").stderr, "[truncated]")

	o = command(t, "listen", recordings+"single-shots.wav")
	require.Zero(t, o.code)
	assert.Contains(t, o.stdout, "4 shots, but no burst of three")
	assert.NotContains(t, o.stdout, "rate_of_fire")
	o = command(t, "listen", recordings+"nothing-but-noise.wav")
	require.Zero(t, o.code)
	assert.Contains(t, o.stdout, "no shot was heard")
	assert.Regexp(t, `loudest onset +1\.38 `, o.stdout)
	assert.Regexp(t, `threshold +1\.76 `, o.stdout)
	assert.Contains(t, command(t, "listen", recorded(t, listentest.WAV(8000, listentest.Kind{Bits: 16}, nil))).stdout, "silence, or too short a sound")
}

// All that is said is wide as a screen at most, but for what is to be pasted.
func TestListenFitsTheScreen(t *testing.T) {
	all, err := filepath.Glob(recordings + "*.wav")
	require.NoError(t, err)
	require.Len(t, all, 13)
	many := listentest.Scene{SampleRate: 8000, Seconds: 30, Noise: 40, Seed: 1}
	for i := range 60 {
		many.Guns = append(many.Guns, listentest.Gun{Start: 0.5 + 0.45*float64(i), Rate: 20, Shots: 1})
	}
	sound, _ := many.Make()
	long := filepath.Join(t.TempDir(), strings.Repeat("long ", 30)+"\n.wav")
	require.NoError(t, os.WriteFile(long, listentest.WAV(8000, listentest.Kind{Bits: 16}, sound), 0o666))
	for _, path := range append(all, long) {
		o := command(t, "listen", path)
		require.Zero(t, o.code, o.stderr)
		text := regexp.MustCompile(`(?m)^- \{figure: .*\n\z`).ReplaceAllString(o.stdout, "")
		fits(t, path, text)
		fits(t, path, o.stderr)
	}
	assert.Contains(t, command(t, "listen", long).stdout, " and 20 more\n")
	fits(t, "help", command(t, "listen", "--help").stdout)
}

// The keys of the document, which others read.
func TestListenJSON(t *testing.T) {
	o := figuresOf(t, "listen", "--json", recordings+"voices.wav")
	for _, key := range []string{"format", "file", "sample_rate_hz", "channels", "duration_s", "outcome", "rate_of_fire_hz", "rate_sd_hz", "shots", "single_shots", "onsets_s", "bursts", "threshold", "loudest", "warnings"} {
		assert.Contains(t, o, key)
	}
	assert.Equal(t, recordings+"voices.wav", o["file"])
	assert.Equal(t, "burst", o["outcome"])
	assert.InDelta(t, 19.97, o["rate_of_fire_hz"], 0.1)
	assert.Len(t, o["onsets_s"], int(o["shots"].(float64)), "all that counts, and nothing else")
	shots := 0.
	for _, b := range o["bursts"].([]any) {
		b := b.(map[string]any)
		for _, key := range []string{"first_s", "last_s", "shots", "missed", "rate_hz", "rate_sd_hz", "rate_ends_hz", "drift_per_s", "jitter_s", "salience", "faint", "odd", "times_s"} {
			assert.Contains(t, b, key)
		}
		assert.Len(t, b["times_s"], int(b["shots"].(float64)))
		assert.Equal(t, b["first_s"], b["times_s"].([]any)[0])
		if b["faint"] == false && b["odd"] == false {
			shots += b["shots"].(float64)
		}
	}
	assert.Equal(t, shots, o["shots"])

	o = figuresOf(t, "listen", "--json", recordings+"single-shots.wav")
	assert.Equal(t, []any{"single-shots", nil, nil, 4., 4.}, []any{o["outcome"], o["rate_of_fire_hz"], o["rate_sd_hz"], o["shots"], o["single_shots"]})
	b := o["bursts"].([]any)[0].(map[string]any)
	assert.Equal(t, []any{nil, nil, nil, nil, nil}, []any{b["rate_hz"], b["rate_ends_hz"], b["drift_per_s"], b["jitter_s"], b["salience"]})
	o = figuresOf(t, "listen", "--json", recordings+"nothing-but-noise.wav")
	assert.Equal(t, []any{"nothing", []any{}, []any{}, []any{}}, []any{o["outcome"], o["bursts"], o["onsets_s"], o["warnings"]})
	for file, code := range map[string]string{"wind-8bit": "clipped", "quick-truncated": "truncated"} {
		text, err := json.Marshal(figuresOf(t, "listen", "--json", recordings+file+".wav")["warnings"])
		require.NoError(t, err)
		assert.Contains(t, string(text), code)
	}
}

// The command says what the truth file does, as an outside judge sees it.
func TestListenAgainstTruth(t *testing.T) {
	text, err := os.ReadFile(recordings + "truth.json")
	require.NoError(t, err)
	var all map[string]struct {
		Shots, Singles, Strangers int
		Bursts                    []struct {
			Shots int
			Rate  float64 `json:"rate_hz"`
		}
	}
	require.NoError(t, json.Unmarshal(text, &all))
	require.Len(t, all, 13)
	for name, want := range all {
		o := figuresOf(t, "listen", "--json", recordings+name+".wav")
		shots := int(o["shots"].(float64))
		assert.True(t, shots >= want.Shots && shots <= want.Shots+want.Strangers, "%s: %d shots for %d", name, shots, want.Shots)
		outcome := "burst"
		if len(want.Bursts) == 0 {
			outcome = map[bool]string{true: "single-shots", false: "nothing"}[want.Singles > 0]
		}
		assert.Equal(t, outcome, o["outcome"], name)
		if len(want.Bursts) == 1 {
			assert.InEpsilon(t, want.Bursts[0].Rate, o["rate_of_fire_hz"], 0.005, name)
		}
	}
}

func TestListenTrace(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "shots.csv")
	o := command(t, "listen", "--trace", path, recordings+"three-bursts.wav")
	require.Zero(t, o.code, o.stderr)
	assert.Equal(t, "wrote "+path+"\n", o.stderr)
	file, err := os.Open(path)
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"burst", "number", "time_s", "interval_s", "strength", "heard"}, rows[0])
	require.Len(t, rows, 1+3+6+12)
	last := 0.
	for _, r := range rows[1:] {
		at, err := strconv.ParseFloat(r[2], 64)
		require.NoError(t, err)
		if r[1] == "1" {
			assert.Empty(t, r[3])
		} else {
			interval, err := strconv.ParseFloat(r[3], 64)
			require.NoError(t, err)
			assert.InDelta(t, at-last, interval, 1e-9)
		}
		last = at
		assert.Equal(t, "true", r[5])
	}
	assert.Equal(t, [2]string{"3", "12"}, [2]string{rows[21][0], rows[21][1]})
	assert.Contains(t, command(t, "listen", "--trace", path, recordings+"plain.wav").stderr, "replaced "+path)
}

func TestListenPicture(t *testing.T) {
	for _, name := range []string{"plain", "single-shots", "nothing-but-noise"} {
		path := filepath.Join(t.TempDir(), "a.svg")
		o := command(t, "listen", "--plot", path, recordings+name+".wav")
		require.Zero(t, o.code, o.stderr)
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Contains(t, string(text), name+".wav")
		assert.Contains(t, string(text), "onset strength")
		assert.Equal(t, name == "plain", strings.Contains(string(text), "time between shots"))
	}
	empty := recorded(t, listentest.WAV(8000, listentest.Kind{Bits: 16}, nil))
	assert.Zero(t, command(t, "listen", "--plot", filepath.Join(t.TempDir(), "a.png"), empty).code)
}

// From standard input, in capital letters, with --strict, and what goes wrong.
func TestListenCalls(t *testing.T) {
	file, err := os.ReadFile(recordings + "room.wav")
	require.NoError(t, err)
	var stdout, stderr bytes.Buffer
	code := status(run(context.Background(), []string{"listen", "-"}, bytes.NewReader(file), &stdout, &stderr), &stderr)
	require.Zero(t, code, stderr.String())
	assert.Contains(t, stdout.String(), "# heard in standard input: 24 shots, 1 burst\n")

	assert.Zero(t, command(t, "listen", "--strict", recordings+"plain.wav").code)
	for _, name := range []string{"single-shots", "nothing-but-noise"} {
		o := command(t, "listen", "--strict", recordings+name+".wav")
		assert.Equal(t, missed, o.code)
		assert.NotEmpty(t, o.stdout, "what was heard is said all the same")
		assert.Contains(t, o.stderr, "no burst was heard (--strict)")
	}

	text := placedFile(t, "shots.wav", []byte("not a recording\n"))
	for _, c := range []struct {
		args []string
		want string
	}{
		{nil, "no recording is given; wanted a file such as shots.wav"},
		{[]string{"a.wav", "b.wav"}, "more than one recording is given"},
		{[]string{"nowhere.wav"}, "nowhere.wav: there is no such file"},
		{[]string{t.TempDir()}, "can't be read: is a directory"},
		{[]string{text}, text + `: it begins with "not ", not with RIFF; wanted a sound recording`},
		{[]string{"--set", "motor.armature.turns=22", recordings + "plain.wav"}, "--set: overrides a value of a build, and a recording has none"},
		{[]string{"--plot", "a.gif", recordings + "plain.wav"}, "--plot: a.gif"},
		{[]string{"--trace", "a.txt", recordings + "plain.wav"}, "--trace: a.txt: wanted a file name that ends in .csv"},
		{[]string{"--trace", text, text}, "--trace: " + text + ": the recording is read from the same file"},
		{[]string{"--colour", recordings + "plain.wav"}, "unknown flag: --colour"},
	} {
		o := command(t, append([]string{"listen"}, c.args...)...)
		assert.Equal(t, badInput, o.code, c.args)
		assert.Empty(t, o.stdout)
		assert.Contains(t, o.stderr, c.want)
	}
}

// placedFile writes a file of a name.
func placedFile(t *testing.T, name string, data []byte) string {
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, data, 0o666))
	return path
}

// What is refused says what was found and what was wanted; what is allowed, but empty, is
// nothing.
func TestListenRefuses(t *testing.T) {
	pcm := listentest.Kind{Bits: 16}
	nan := make([]float64, 4000)
	nan[3000] = math.NaN()
	sound := listentest.Chunk("data", make([]byte, 16000))
	for name, file := range map[string][]byte{
		"empty": nil, "text": []byte("RIFF of the band"), "no format": listentest.File(sound), "no sound": listentest.File(listentest.Format(8000, 1, pcm)),
		"six channels": listentest.File(listentest.Format(8000, 6, pcm), sound), "4 kHz": listentest.File(listentest.Format(4000, 1, pcm), sound),
		"12 bits": listentest.File(listentest.Format(8000, 1, listentest.Kind{Bits: 12}), sound), "no number": listentest.WAV(8000, listentest.Kind{Bits: 32, Float: true}, nan),
	} {
		path := recorded(t, file)
		o := command(t, "listen", "--json", path)
		assert.Equal(t, badInput, o.code, name)
		assert.Empty(t, o.stdout, name)
		assert.Contains(t, o.stderr, path+": ", name)
	}
	for name, file := range map[string][]byte{
		"silence": listentest.WAV(8000, pcm, make([]float64, 8000)), "no samples": listentest.WAV(8000, pcm, nil), "one sample": listentest.WAV(8000, pcm, []float64{0.5}),
		"10 ms": listentest.WAV(8000, pcm, make([]float64, 80)), "half a sample": listentest.File(listentest.Format(8000, 1, pcm), listentest.Chunk("data", make([]byte, 16001))),
	} {
		o := command(t, "listen", "--json", recorded(t, file))
		assert.Zero(t, o.code, name)
		assert.Contains(t, o.stdout, `"outcome": "nothing"`, name)
	}
}

// A rate that was heard goes to a file of readings, whole or not at all.
func TestListenReadings(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "evening.yaml")
	const line = "- {figure: rate_of_fire, value: 22.07 /s ± 0.05 /s}   # heard in plain.wav: 22 shots, 1 burst\n"
	text := func() string {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		return string(data)
	}
	o := command(t, "listen", recordings+"plain.wav", "--readings", path)
	require.Zero(t, o.code, o.stderr)
	assert.Equal(t, "wrote "+path+"\n", o.stderr)
	assert.Equal(t, "readings:\n"+line, text())
	assert.True(t, strings.HasSuffix(o.stdout, line))

	require.NoError(t, os.WriteFile(path, []byte("name: Evening # cold\nreadings:\n  - {figure: inrush, value: 70 A ± 5 %} # clamp\nfree: [spring.rate]\n"), 0o666))
	o = command(t, "listen", "--json", recordings+"three-bursts.wav", "--readings", path)
	require.Zero(t, o.code, o.stderr)
	assert.Equal(t, "replaced "+path+"\n", o.stderr)
	kept := text()
	assert.Equal(t, "name: Evening # cold\nreadings:\n  - {figure: inrush, value: 70 A ± 5 %} # clamp\n"+
		"  - {figure: rate_of_fire, value: 20.90 /s ± 1.06 /s}   # heard in three-bursts.wav: 21 shots, 3 bursts\nfree: [spring.rate]\n", kept)

	// Nothing heard: status 3, with what was heard, and the file as it was.
	for _, name := range []string{"nothing-but-noise", "single-shots"} {
		for _, at := range []string{path, filepath.Join(dir, "new.yaml")} {
			o = command(t, "listen", "--strict", recordings+name+".wav", "--readings", at)
			assert.Equal(t, incomplete, o.code)
			assert.Contains(t, o.stderr, "nothing is added to "+at+": no burst of three was heard")
			assert.Contains(t, o.stdout, name+".wav: ")
		}
	}
	assert.Equal(t, kept, text())

	// A file that is no readings file is refused before anything is read of the sound.
	require.NoError(t, os.WriteFile(path, []byte("readings:\n- {figure: inrush, value: 70 A}\n"), 0o666))
	for _, c := range []struct{ file, want string }{
		{path, path + ":2:27: readings.0.value: \"70 A\" has no ±"},
		{filepath.Join(dir, "evening.txt"), "wanted a file name that ends in .yaml"},
		{dir + "/none/evening.yaml", "no such file or directory"},
	} {
		o = command(t, "listen", recordings+"plain.wav", "--readings", c.file)
		assert.Equal(t, badInput, o.code, c.file)
		assert.Contains(t, o.stderr, c.want)
		assert.Empty(t, o.stdout)
	}
	assert.Contains(t, command(t, "listen", "nowhere.wav", "--readings", path).stderr, "has no ±")
	assert.Contains(t, command(t, "listen", recordings+"plain.wav", "--readings", path, "--trace", filepath.Join(dir, "a.csv"), "--plot", path).stderr, "--plot")
	assert.Equal(t, "readings:\n- {figure: inrush, value: 70 A}\n", text())
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 1, "nothing half-written is left")
}

// The shell completes recordings, and files for what is written.
func TestListenCompletion(t *testing.T) {
	for _, c := range []struct {
		args []string
		want []string
	}{
		{[]string{"listen", ""}, []string{"wav", "WAV"}}, {[]string{"listen", "--plot", ""}, []string{"png", "svg", "pdf"}}, {[]string{"listen", "--trace", ""}, []string{"csv"}},
		{[]string{"listen", "--readings", ""}, []string{"yaml", "yml"}},
		{[]string{"listen", "a.wav", ""}, []string{}},
	} {
		o := command(t, append([]string{"__complete"}, c.args...)...)
		require.Zero(t, o.code)
		lines := strings.Split(strings.TrimSpace(o.stdout), "\n")
		assert.Equal(t, c.want, slices.DeleteFunc(lines[:len(lines)-1], func(l string) bool { return l == "" }), c.args)
	}
}

// The digits of a ± are never fewer than it is.
func TestRateText(t *testing.T) {
	for _, c := range []struct {
		rate, sd, least float64
		once            bool
		want            string
	}{
		{22.0693, 0.0085, 0, false, "22.07 /s ± 0.02 /s"}, {22.0693, 0.0085, 0.002, false, "22.07 /s ± 0.05 /s"}, {22.0693, 0.0085, 0, true, "22.07 ± 0.02 /s"},
		{20, 0.005, 0, true, "20.00 ± 0.01 /s"}, {20, 0.0051, 0, true, "20.00 ± 0.02 /s"}, {19.2, 1.3, 0, true, "19.20 ± 2.60 /s"}, {math.NaN(), math.NaN(), 0, false, ""},
	} {
		assert.Equal(t, c.want, rateText(c.rate, c.sd, c.least, c.once))
	}
}
