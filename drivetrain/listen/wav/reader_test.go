package wav_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/listen/listentest"
	"example.org/ampstroke/drivetrain/listen/wav"
)

// all reads a file to its end.
func all(file []byte) (*wav.Reader, []float64, error) { return from(bytes.NewReader(file)) }

func from(in io.Reader) (*wav.Reader, []float64, error) {
	r, err := wav.NewReader(in)
	if err != nil {
		return nil, nil, err
	}
	var samples []float64
	for block := make([]float64, 100); ; {
		n, err := r.Read(block)
		samples = append(samples, block[:n]...)
		if errors.Is(err, io.EOF) {
			return r, samples, nil
		}
		if err != nil {
			return r, samples, err
		}
	}
}

var kinds = []listentest.Kind{
	{Bits: 8}, {Bits: 16}, {Bits: 24}, {Bits: 32}, {Bits: 32, Float: true},
	{Bits: 8, Extensible: true}, {Bits: 16, Extensible: true}, {Bits: 24, Extensible: true}, {Bits: 32, Extensible: true}, {Bits: 32, Float: true, Extensible: true},
}

// Values that all kinds can hold come back as they are, at the ends of the range too.
func TestEveryKind(t *testing.T) {
	left := []float64{0, 0.5, -0.5, -1, 1.0 / 128, -127.0 / 128, 0.75}
	right := []float64{0.25, -0.125, 127.0 / 128, 0, -1, 0.0625, -0.75}
	for _, k := range kinds {
		for _, rate := range []int{8000, 22050, 44100, 192000} {
			r, got, err := all(listentest.WAV(rate, k, left))
			require.NoError(t, err, "%+v", k)
			assert.Equal(t, left, got, "%+v", k)
			assert.Equal(t, wav.Format{Rate: rate, Channels: 1, Bits: k.Bits, Float: k.Float}, r.Format())
			assert.EqualValues(t, len(left), r.Claimed())
			assert.False(t, r.Truncated())

			r, got, err = all(listentest.WAV(rate, k, left, right))
			require.NoError(t, err)
			require.Len(t, got, 2*len(left))
			for i := range left {
				assert.Equal(t, []float64{left[i], right[i]}, got[2*i:2*i+2])
			}
			assert.Equal(t, 2, r.Format().Channels)
			assert.EqualValues(t, len(left), r.Claimed())
		}
	}
}

// The scale is the half range: the largest integers stay just below 1.
func TestFullScale(t *testing.T) {
	for bits, want := range map[int]float64{8: 127. / 128, 16: 32767. / 32768, 24: 8388607. / 8388608, 32: 2147483647. / 2147483648} {
		_, got, err := all(listentest.WAV(8000, listentest.Kind{Bits: bits}, []float64{1, -1}))
		require.NoError(t, err)
		assert.Equal(t, []float64{want, -1}, got)
	}
	_, got, err := all(listentest.WAV(8000, listentest.Kind{Bits: 32, Float: true}, []float64{3, -1e30}))
	require.NoError(t, err)
	assert.Equal(t, []float64{3, float64(float32(-1e30))}, got, "floats come as they are")
}

// header returns a format chunk with some of its numbers put wrong.
func header(tag, channels, rate, bits, block int) []byte {
	le := binary.LittleEndian
	b := le.AppendUint16(nil, uint16(tag))
	b = le.AppendUint16(b, uint16(channels))
	b = le.AppendUint32(b, uint32(rate))
	b = le.AppendUint32(b, uint32(rate*block))
	b = le.AppendUint16(b, uint16(block))
	b = le.AppendUint16(b, uint16(bits))
	return b
}

func TestRefused(t *testing.T) {
	pcm := listentest.Kind{Bits: 16}
	sound := listentest.Chunk("data", make([]byte, 2000))
	described := func(tag, channels, rate, bits, block int) []byte {
		return listentest.File(listentest.Chunk("fmt ", header(tag, channels, rate, bits, block)), sound)
	}
	swapped := func(name string) []byte {
		return append([]byte(name), listentest.WAV(8000, pcm, make([]float64, 100))[4:]...)
	}
	float := listentest.Kind{Bits: 32, Float: true}
	late := make([]float64, 300)
	late[200] = math.Inf(-1)
	for _, c := range []struct {
		name, found, wanted string
		file                []byte
	}{
		{"nothing", "the file is empty", "RIFF/WAVE", nil},
		{"text", `it begins with "not "`, "RIFF/WAVE", []byte("not a recording\n")},
		{"three bytes", `it begins with "RIF"`, "RIFF/WAVE", []byte("RIF")},
		{"its name alone", "of the kind", "RIFF/WAVE", []byte("RIFF\x00\x00\x00\x00WA")},
		{"a film", `of the kind "AVI "`, "RIFF/WAVE", []byte("RIFF\x00\x00\x00\x00AVI LIST")},
		{"big-endian", "big-endian", "little-endian", swapped("RIFX")},
		{"for large sizes", "RF64", "2 GiB", swapped("RF64")},
		{"mu-law", "compressed sound, mu-law (format 0x7)", "save it as PCM", described(7, 1, 8000, 8, 1)},
		{"A-law", "A-law", "save it as PCM", described(6, 1, 8000, 8, 1)},
		{"ADPCM", "ADPCM", "save it as PCM", described(2, 1, 8000, 4, 256)},
		{"MP3", "MP3", "save it as PCM", described(0x55, 1, 8000, 0, 1)},
		{"another", "of another kind (format 0x1234)", "save it as PCM", described(0x1234, 1, 8000, 16, 2)},
		{"extensible mu-law", "mu-law", "save it as PCM", listentest.File(listentest.Chunk("fmt ", append(header(0xFFFE, 1, 8000, 8, 1), 22, 0, 8, 0, 0, 0, 0, 0, 7, 0, 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71)), sound)},
		{"extensible in short", "an extensible format (fmt chunk) of 18 bytes", "wanted 40", listentest.File(listentest.Chunk("fmt ", append(header(0xFFFE, 1, 8000, 16, 2), 0, 0)), sound)},
		{"12 bits", "samples of 12 bits", "wanted 8, 16, 24 or 32", described(1, 1, 8000, 12, 2)},
		{"no bits", "samples of 0 bits", "wanted 8", described(1, 1, 8000, 0, 0)},
		{"64-bit floats", "floats of 64 bits", "32 bits", described(3, 1, 8000, 64, 8)},
		{"16-bit floats", "floats of 16 bits", "32 bits", described(3, 1, 8000, 16, 2)},
		{"4 kHz", "4000 samples a second", "8000 to 192000", described(1, 1, 4000, 16, 2)},
		{"7999 Hz", "7999 samples a second", "8000 to 192000", described(1, 1, 7999, 16, 2)},
		{"192001 Hz", "192001 samples a second", "8000 to 192000", described(1, 1, 192001, 16, 2)},
		{"4 GHz", "4294967295 samples a second", "8000 to 192000", described(1, 1, math.MaxUint32, 16, 2)},
		{"no channel", "0 channels", "wanted 1 or 2", described(1, 0, 8000, 16, 2)},
		{"six channels", "6 channels", "wanted 1 or 2", described(1, 6, 8000, 16, 12)},
		{"wrong block", "a block of 3 bytes for 1 times 16 bits", "wanted 2", described(1, 1, 8000, 16, 3)},
		{"short format", "a format (fmt chunk) of 14 bytes", "wanted 16", listentest.File(listentest.Chunk("fmt ", make([]byte, 14)), sound)},
		{"cut within its format", "ends within its format", "cut off", listentest.File(listentest.Claim("fmt ", 40, header(0xFFFE, 1, 8000, 16, 2)))},
		{"no format", "comes before any format", "damaged", listentest.File(sound)},
		{"sound first", "comes before any format", "wanted the format first", listentest.File(sound, listentest.Format(8000, 1, pcm))},
		{"no sound", "no sound (data chunk) within its 36 bytes", "cut off", listentest.File(listentest.Format(8000, 1, pcm))},
		{"nothing but a name", "neither a format (fmt chunk) nor sound", "cut off", listentest.File()},
		{"half a chunk's name", "neither a format", "cut off", append(listentest.File(), "fmt"...)},
		{"a chunk beyond the end", "no sound", "cut off", listentest.File(listentest.Format(8000, 1, pcm), listentest.Claim("LIST", math.MaxUint32, []byte("short")))},
		{"no number", "sample 3, at 0.000 s, is NaN", "finite", listentest.WAV(8000, float, []float64{0, 1, math.NaN(), 0})},
		{"infinite", "sample 201, at 0.025 s, is -Inf", "finite", listentest.WAV(8000, float, make([]float64, 300), late)},
	} {
		_, _, err := all(c.file)
		var fault *wav.Fault
		if assert.ErrorAs(t, err, &fault, c.name) {
			assert.Contains(t, fault.Found, c.found, c.name)
			assert.Contains(t, fault.Wanted, c.wanted, c.name)
			assert.Equal(t, fault.Found+"; "+fault.Wanted, err.Error())
		}
	}
}

// Chunks stand in any order, unknown ones are passed over with their padding, and of
// formats and sounds the first counts.
func TestChunks(t *testing.T) {
	sound := listentest.Chunk("data", []byte{1, 0, 2, 0, 0, 0x80})
	format := listentest.Format(8000, 1, listentest.Kind{Bits: 16})
	odd := listentest.Chunk("LIST", []byte("odd"))
	long := listentest.Chunk("fmt ", append(header(1, 1, 8000, 16, 2), bytes.Repeat([]byte{7}, 101)...))
	many := bytes.Repeat(listentest.Chunk("junk", nil), 1_000_000)
	want := []float64{1. / 32768, 2. / 32768, -1}
	for name, chunks := range map[string][][]byte{
		"plain":                 {format, sound},
		"before":                {odd, odd, format, odd, sound},
		"behind":                {format, sound, odd},
		"a long format":         {long, sound},
		"a second sound":        {format, sound, listentest.Chunk("data", make([]byte, 100))},
		"a second format":       {format, listentest.Chunk("fmt ", header(7, 9, 1, 1, 1)), sound},
		"a million empty ones":  {format, many, sound},
		"a large one":           {listentest.Chunk("bext", make([]byte, 1<<20+1)), format, sound},
		"names of other letter": {listentest.Chunk("FMT ", make([]byte, 20)), format, listentest.Chunk("DATA", make([]byte, 20)), sound},
	} {
		r, got, err := all(listentest.File(chunks...))
		require.NoError(t, err, name)
		assert.Equal(t, want, got, name)
		assert.False(t, r.Truncated(), name)
	}
}

// The size of the whole is not looked at, that of the sound not believed.
func TestSizes(t *testing.T) {
	format := listentest.Format(8000, 2, listentest.Kind{Bits: 16})
	body := bytes.Repeat([]byte{0, 0x40}, 2*50)
	for _, c := range []struct {
		name      string
		claim     uint32
		body      []byte
		samples   int
		truncated bool
		claimed   int64
	}{
		{"right", 200, body, 100, false, 50},
		{"more than there is", 204, body, 100, true, 51},
		{"two GiB", 1 << 31, body, 100, true, 1 << 29},
		{"just below what stands for no end", 0xFFFFFEFF, body, 100, true, 0xFFFFFEFF / 4},
		{"none given", 0, body, 100, false, -1},
		{"from a pipe", 0xFFFFFFFF, body, 100, false, -1},
		{"from a pipe, with room for headers", 0xFFFFFF00, body, 100, false, -1},
		{"less than there is", 40, body, 20, false, 10},
		{"no whole block behind", 203, body, 100, false, 50},
		{"half a block at the end", 202, append(slices.Clone(body), 1, 2), 100, false, 50},
		{"half a block, claimed whole", 204, append(slices.Clone(body), 1, 2), 100, true, 51},
		{"nothing, from a pipe", 0xFFFFFFFF, nil, 0, false, -1},
		{"nothing", 0, nil, 0, false, -1},
		{"nothing of much", 4000, nil, 0, true, 1000},
		{"less than a block", 3, []byte{1, 2, 3}, 0, false, 0},
	} {
		file := slices.Concat([]byte("RIFF"), []byte{9, 9, 9, 9}, []byte("WAVE"), format, listentest.Claim("data", c.claim, nil), c.body)
		for what, in := range map[string]io.Reader{"whole": bytes.NewReader(file), "in bytes": iotest.OneByteReader(bytes.NewReader(file)), "with its end": iotest.DataErrReader(bytes.NewReader(file))} {
			r, got, err := from(in)
			require.NoError(t, err, c.name)
			assert.Len(t, got, c.samples, "%s, %s", c.name, what)
			assert.Equal(t, c.truncated, r.Truncated(), "%s, %s", c.name, what)
			assert.Equal(t, c.claimed, r.Claimed(), c.name)
			n, err := r.Read(make([]float64, 10))
			assert.Equal(t, []any{0, io.EOF}, []any{n, err}, "it stays at its end")
		}
	}
}

// What a reader beneath fails with is not taken for the end of the file.
func TestBrokenInput(t *testing.T) {
	file := listentest.File(listentest.Chunk("junk", make([]byte, 100)), listentest.Format(8000, 1, listentest.Kind{Bits: 16}), listentest.Chunk("data", make([]byte, 100)))
	broken := errors.New("the card was pulled out")
	for n := range file {
		_, _, err := from(io.MultiReader(bytes.NewReader(file[:n]), iotest.ErrReader(broken)))
		require.Equal(t, broken, err, "after %d bytes", n)
	}
}

// zeros is a file without an end behind a head.
func zeros(head []byte) io.Reader { return io.MultiReader(bytes.NewReader(head), endless{}) }

type endless struct{}

func (endless) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// again repeats a text without an end.
type again struct {
	text []byte
	at   int
}

func (a *again) Read(p []byte) (int, error) {
	n := copy(p, a.text[a.at:])
	a.at = (a.at + n) % len(a.text)
	return n, nil
}

// An hour is read and a sample more is not, 2 GiB neither; headers without an end come to
// an end.
func TestLimits(t *testing.T) {
	head := func(rate, channels int, kind listentest.Kind) []byte {
		return listentest.File(listentest.Format(rate, channels, kind), listentest.Claim("data", 0xFFFFFFFF, nil))
	}
	read := func(in io.Reader) (n int64, err error) {
		r, err := wav.NewReader(in)
		if err != nil {
			return 0, err
		}
		for block := make([]float64, 1<<18); err == nil; {
			var k int
			k, err = r.Read(block)
			n += int64(k)
		}
		return n, err
	}
	const hour = 3600 * 8000
	n, err := read(io.MultiReader(bytes.NewReader(head(8000, 1, listentest.Kind{Bits: 8})), io.LimitReader(endless{}, hour)))
	assert.EqualValues(t, hour, n)
	assert.ErrorIs(t, err, io.EOF)
	n, err = read(io.MultiReader(bytes.NewReader(head(8000, 1, listentest.Kind{Bits: 8})), io.LimitReader(endless{}, hour+1)))
	assert.EqualValues(t, hour, n)
	assert.EqualError(t, err, "more than an hour of sound; wanted an hour at most; cut the part out in which it fires")

	big := head(192000, 2, listentest.Kind{Bits: 32})
	n, err = read(zeros(big))
	assert.EqualValues(t, (int64(2<<30)-int64(len(big)))/8*2, n)
	assert.EqualError(t, err, "more than 2 GiB; wanted 2 GiB at most; cut the part out in which it fires")

	plain := listentest.File(listentest.Format(8000, 1, listentest.Kind{Bits: 8}))
	for name, in := range map[string]io.Reader{
		"a chunk of 4 GiB":      zeros(append(plain, listentest.Claim("junk", math.MaxUint32, nil)...)),
		"chunks without an end": io.MultiReader(bytes.NewReader(plain), &again{text: listentest.Chunk("junk", make([]byte, 1<<20))}),
	} {
		_, err = read(in)
		assert.EqualError(t, err, "no sound (data chunk) within the first 2 GiB; wanted a recording of 2 GiB at most", name)
	}
}

// Whatever a file claims, no more room is taken than for a block of it.
func TestClaimsTakeNoMemory(t *testing.T) {
	claims := []byte{}
	for range 1000 {
		claims = append(claims, listentest.Claim("data", 1<<31, nil)...)
	}
	files := [][]byte{
		listentest.File(listentest.Format(8000, 2, listentest.Kind{Bits: 16}), listentest.Claim("data", 1<<31-1, make([]byte, 10))),
		listentest.File(listentest.Claim("fmt ", 1<<31-1, header(1, 1, 8000, 16, 2))),
		listentest.File(listentest.Format(8000, 1, listentest.Kind{Bits: 8}), listentest.Claim("junk", 1<<31, nil)),
		listentest.File(listentest.Format(8000, 1, listentest.Kind{Bits: 8}), claims),
	}
	var before, behind runtime.MemStats
	runtime.ReadMemStats(&before)
	for _, f := range files {
		_, _, _ = all(f)
	}
	runtime.ReadMemStats(&behind)
	assert.Less(t, behind.TotalAlloc-before.TotalAlloc, uint64(1<<20))
}

func FuzzReader(f *testing.F) {
	for _, k := range kinds {
		f.Add(listentest.WAV(8000, k, []float64{0, 0.5, -0.5}, []float64{1, 0, -1}))
	}
	f.Add(listentest.File(listentest.Chunk("LIST", []byte("odd")), listentest.Format(44100, 1, listentest.Kind{Bits: 24}), listentest.Claim("data", 0xFFFFFFFF, []byte{1, 2, 3, 4})))
	f.Add(listentest.File(listentest.Format(44100, 2, listentest.Kind{Bits: 16}), listentest.Claim("data", 1<<31, []byte{1, 2, 3})))
	f.Fuzz(func(t *testing.T, file []byte) {
		r, samples, err := all(file)
		if err != nil {
			var fault *wav.Fault
			require.ErrorAs(t, err, &fault)
			require.NotEmpty(t, fault.Found)
			require.NotEmpty(t, fault.Wanted)
			return
		}
		format := r.Format()
		require.Contains(t, []int{1, 2}, format.Channels)
		require.Contains(t, []int{8, 16, 24, 32}, format.Bits)
		require.True(t, format.Rate >= wav.LeastRate && format.Rate <= wav.MostRate)
		require.Zero(t, len(samples)%format.Channels, "whole blocks")
		require.LessOrEqual(t, len(samples)*format.Bits/8, len(file))
		for _, v := range samples {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
			require.True(t, format.Float || v >= -1 && v < 1)
		}
		if n := r.Claimed(); n >= 0 {
			require.Equal(t, int64(len(samples)/format.Channels) < n, r.Truncated())
		}
	})
}

func BenchmarkReader(b *testing.B) {
	sound := make([]float64, 48000)
	for _, k := range kinds[:5] {
		file := listentest.WAV(48000, k, sound, sound)
		b.Run(strings.ReplaceAll(fmt.Sprintf("%+v", k), " ", ","), func(b *testing.B) {
			b.SetBytes(int64(len(file)))
			for b.Loop() {
				if _, _, err := all(file); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func ExampleReader() {
	file := listentest.WAV(8000, listentest.Kind{Bits: 16}, []float64{0, 0.5, -0.25})
	r, err := wav.NewReader(bytes.NewReader(file))
	if err != nil {
		fmt.Println(err)
		return
	}
	samples := make([]float64, 4096)
	n, err := r.Read(samples)
	fmt.Println(r.Format().Rate, samples[:n], err)
	n, err = r.Read(samples)
	fmt.Println(n, err)
	// Output:
	// 8000 [0 0.5 -0.25] <nil>
	// 0 EOF
}
