package wav

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// What a recording may be.
const (
	LeastRate    = 8000   // samples a second of a channel
	MostRate     = 192000 // samples a second of a channel
	MostChannels = 2
	MostBytes    = 2 << 30 // of a whole file
	MostSeconds  = 3600
)

// Format is how samples are kept in a file.
type Format struct {
	Rate     int  // samples a second of each channel
	Channels int  // 1 or 2
	Bits     int  // of a sample
	Float    bool // samples are floating-point numbers
}

// block is the size of a sample of each channel in bytes.
func (f Format) block() int { return f.Channels * f.Bits / 8 }

// Reader reads the samples of a file.
type Reader struct {
	format    Format
	in        *bufio.Reader
	left      int64 // bytes that the sound claims and that have not been read
	claimed   int64 // bytes that the sound claims; below 0: all that follow
	begun     int64 // bytes of the file before the sound
	read      int64 // bytes of the sound that have been read
	truncated bool
	raw       []byte
}

// NewReader reads a file's headers, up to its first sample. An error is a *[Fault], or
// what the reader beneath returned.
func NewReader(r io.Reader) (*Reader, error) {
	w := &Reader{in: bufio.NewReaderSize(r, 1<<16)}
	if err := w.head(); err != nil {
		return nil, err
	}
	return w, nil
}

// Format returns how the samples are kept.
func (r *Reader) Format() Format { return r.format }

// Claimed returns how many samples of each channel the file says it has, -1 if it
// says nothing. There may be fewer.
func (r *Reader) Claimed() int64 {
	if r.claimed < 0 {
		return -1
	}
	return r.claimed / int64(r.format.block())
}

// Truncated tells whether the samples ended before the file said they would. It is
// known once Read has returned [io.EOF].
func (r *Reader) Truncated() bool { return r.truncated }

// Fault is what is wrong with a file.
type Fault struct {
	Found  string // "a mu-law recording (format 7)"
	Wanted string // "save it as PCM with 16 or 24 bits"
}

// Error implements error.
func (f *Fault) Error() string { return f.Found + "; " + f.Wanted }

func fault(wanted, found string, args ...any) error {
	return &Fault{Found: fmt.Sprintf(found, args...), Wanted: wanted}
}

const wantedFile = "wanted a sound recording, a RIFF/WAVE file (.wav) of PCM or 32-bit float samples"

// head reads up to the first sample.
func (r *Reader) head() error {
	var b [12]byte
	n, err := io.ReadFull(r.in, b[:])
	switch {
	case n == 0 && errors.Is(err, io.EOF):
		return fault(wantedFile, "the file is empty")
	case err != nil && !ended(err):
		return err
	case n >= 4 && string(b[:4]) == "RIFX":
		return fault("save it as an ordinary, little-endian WAV file", "a big-endian file (RIFX)")
	case n >= 4 && (string(b[:4]) == "RF64" || string(b[:4]) == "BW64"):
		return fault("save it as an ordinary WAV file, of 2 GiB at most", "a file in the form for sizes above 4 GiB (%s)", b[:4])
	case n < 4 || string(b[:4]) != "RIFF":
		return fault(wantedFile, "it begins with %q, not with RIFF", b[:min(n, 4)])
	case n < len(b) || string(b[8:]) != "WAVE":
		return fault(wantedFile, "it is a RIFF file of the kind %q, not WAVE", b[min(n, 8):n])
	}
	r.begun = int64(len(b))
	known := false
	for {
		var h [8]byte
		n, err := io.ReadFull(r.in, h[:])
		if err != nil {
			if !ended(err) {
				return err
			}
			what := "no sound (data chunk)"
			if !known {
				what = "neither a format (fmt chunk) nor sound (data chunk)"
			}
			return fault("wanted a whole recording; this one may have been cut off", "%s within its %d bytes", what, r.begun+int64(n))
		}
		r.begun += int64(len(h))
		size := int64(binary.LittleEndian.Uint32(h[4:]))
		name := string(h[:4])
		switch {
		case name == "data" && !known:
			return fault("wanted the format first; this file is damaged", "its sound (data chunk) comes before any format (fmt chunk)")
		case name == "data":
			r.begin(size)
			return nil
		case name == "fmt " && !known:
			if err := r.describe(size); err != nil {
				return err
			}
			known = true
		default:
			if err := r.skip(size); err != nil {
				return err
			}
		}
		if size%2 == 1 {
			if err := r.skip(1); err != nil {
				return err
			}
		}
	}
}

// ended tells that a file is over.
func ended(err error) bool { return errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) }

// skip passes over what a chunk claims to have, or over what there is of it.
func (r *Reader) skip(size int64) error {
	n, err := io.CopyN(io.Discard, r.in, min(size, MostBytes-r.begun))
	r.begun += n
	switch {
	case err != nil && !ended(err):
		return err
	case err == nil && n < size, r.begun > MostBytes:
		return fault("wanted a recording of 2 GiB at most", "no sound (data chunk) within the first 2 GiB")
	}
	return nil
}

// begin settles how much sound is to come.
func (r *Reader) begin(size int64) {
	// A recorder that writes to a pipe can't go back to write the size: it leaves nothing, or
	// all it can; some leave room for headers below the largest.
	const open = 0xFFFFFF00
	r.claimed, r.left = size, size
	if size == 0 || size >= open {
		r.claimed, r.left = -1, math.MaxInt64
	}
}

// The formats of samples.
const (
	formatPCM        = 1
	formatFloat      = 3
	formatExtensible = 0xFFFE
)

// compressed names formats that recordings of the trade come in by mistake.
var compressed = map[uint16]string{
	2: "ADPCM", 6: "A-law", 7: "mu-law", 0x11: "IMA ADPCM", 0x31: "GSM 6.10", 0x50: "MPEG", 0x55: "MP3", 0xFF: "AAC", 0x1610: "AAC",
}

// describe reads the format.
func (r *Reader) describe(size int64) error {
	const least, extended = 16, 40
	if size < least {
		return fault(fmt.Sprintf("wanted %d at least; this file is damaged", least), "a format (fmt chunk) of %d bytes", size)
	}
	var b [extended]byte
	n, err := io.ReadFull(r.in, b[:min(size, extended)])
	r.begun += int64(n)
	if err != nil {
		if ended(err) {
			return fault("wanted a whole recording; this one was cut off", "the file ends within its format (fmt chunk)")
		}
		return err
	}
	tag := binary.LittleEndian.Uint16(b[0:])
	f := Format{
		Channels: int(binary.LittleEndian.Uint16(b[2:])),
		Rate:     int(binary.LittleEndian.Uint32(b[4:])),
		Bits:     int(binary.LittleEndian.Uint16(b[14:])),
	}
	block := int(binary.LittleEndian.Uint16(b[12:]))
	if tag == formatExtensible {
		if size < extended {
			return fault(fmt.Sprintf("wanted %d at least; this file is damaged", extended), "an extensible format (fmt chunk) of %d bytes", size)
		}
		tag = binary.LittleEndian.Uint16(b[24:])
	}
	f.Float = tag == formatFloat
	switch {
	case tag != formatPCM && tag != formatFloat:
		kind := "samples of another kind"
		if name, ok := compressed[tag]; ok {
			kind = "compressed sound, " + name
		}
		return fault("save it as PCM, with 16 or 24 bits", "%s (format %#x)", kind, tag)
	case f.Float && f.Bits != 32:
		return fault("wanted floats of 32 bits; save it as PCM, with 16 or 24 bits", "floats of %d bits", f.Bits)
	case f.Bits != 8 && f.Bits != 16 && f.Bits != 24 && f.Bits != 32:
		return fault("wanted 8, 16, 24 or 32; save it as PCM, with 16 or 24 bits", "samples of %d bits", f.Bits)
	case f.Channels < 1 || f.Channels > MostChannels:
		return fault("wanted 1 or 2; save it in mono or stereo", "%d channels", f.Channels)
	case f.Rate < LeastRate || f.Rate > MostRate:
		return fault(fmt.Sprintf("wanted %d to %d; save it at 44100 or 48000", LeastRate, MostRate), "%d samples a second", f.Rate)
	case block != f.block():
		return fault(fmt.Sprintf("wanted %d; this file is damaged", f.block()), "a block of %d bytes for %d times %d bits", block, f.Channels, f.Bits)
	}
	r.format = f
	return r.skip(size - int64(n))
}

// Read fills dst with samples, those of the channels in turn, and returns how many it
// put there, always whole blocks; dst must have room for one. At the end the error is
// [io.EOF], with the last samples or behind them.
func (r *Reader) Read(dst []float64) (n int, err error) {
	block := int64(r.format.block())
	want := min(int64(len(dst)/r.format.Channels)*block, r.left-r.left%block)
	if want == 0 {
		return 0, io.EOF
	}
	most := min(MostSeconds*int64(r.format.Rate)*block, MostBytes-r.begun)
	if r.read >= most-most%block {
		if _, err := r.in.Peek(1); err != nil {
			return 0, r.end(err)
		}
		return 0, r.tooLong()
	}
	want = min(want, most-most%block-r.read)
	if int64(len(r.raw)) < want {
		r.raw = make([]byte, want)
	}
	got, err := io.ReadFull(r.in, r.raw[:want])
	whole := got - got%int(block)
	r.read += int64(whole)
	r.left -= int64(whole)
	n = whole / (r.format.Bits / 8)
	if bad := r.decode(dst[:n], r.raw[:whole]); bad != nil {
		return 0, bad
	}
	if err != nil {
		return n, r.end(err)
	}
	return n, nil
}

// end is the error of a sound that has ended, early or where it may.
func (r *Reader) end(err error) error {
	if !ended(err) {
		return err
	}
	r.truncated = r.claimed >= 0 // a whole block at least was to come
	r.left = 0
	return io.EOF
}

func (r *Reader) tooLong() error {
	if r.begun+r.read+int64(r.format.block()) > MostBytes {
		return fault("wanted 2 GiB at most; cut the part out in which it fires", "more than 2 GiB")
	}
	return fault("wanted an hour at most; cut the part out in which it fires", "more than an hour of sound")
}

// decode turns bytes into numbers.
func (r *Reader) decode(dst []float64, raw []byte) error {
	switch {
	case r.format.Float:
		for i := range dst {
			v := float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:])))
			if v-v != 0 {
				at := (r.read - int64(len(raw)) + 4*int64(i)) / int64(r.format.block())
				return fault("wanted finite numbers; this file is damaged", "sample %d, at %.3f s, is %v", at+1, float64(at)/float64(r.format.Rate), v)
			}
			dst[i] = v
		}
	case r.format.Bits == 8:
		for i := range dst {
			dst[i] = (float64(raw[i]) - 128) / (1 << 7)
		}
	case r.format.Bits == 16:
		for i := range dst {
			dst[i] = float64(int16(binary.LittleEndian.Uint16(raw[2*i:]))) / (1 << 15)
		}
	case r.format.Bits == 24:
		for i := range dst {
			b := raw[3*i : 3*i+3]
			dst[i] = float64(int32(uint32(b[0])<<8|uint32(b[1])<<16|uint32(b[2])<<24)>>8) / (1 << 23)
		}
	default:
		for i := range dst {
			dst[i] = float64(int32(binary.LittleEndian.Uint32(raw[4*i:]))) / (1 << 31)
		}
	}
	return nil
}
