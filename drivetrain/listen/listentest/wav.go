package listentest

import (
	"bytes"
	"encoding/binary"
	"math"
)

// Kind is how samples are kept in a file.
type Kind struct {
	Bits       int // 8, 16, 24 or 32
	Float      bool
	Extensible bool
}

// WAV returns a RIFF/WAVE file of a sound, each channel of which is given by itself. What
// is beyond ±1 is clipped, but for floats.
func WAV(rate int, kind Kind, channels ...[]float64) []byte {
	var data bytes.Buffer
	for i := range channels[0] {
		for _, c := range channels {
			data.Write(kind.sample(c[i]))
		}
	}
	return File(Chunk("fmt ", kind.describe(rate, len(channels))), Chunk("data", data.Bytes()))
}

// File returns a RIFF/WAVE file of chunks.
func File(chunks ...[]byte) []byte {
	all := append([]byte("WAVE"), bytes.Join(chunks, nil)...)
	return append(binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(len(all))), all...)
}

// Chunk returns a chunk, padded to an even size.
func Chunk(name string, body []byte) []byte { return Claim(name, uint32(len(body)), body) }

// Claim returns a chunk that says it had a size of its own.
func Claim(name string, size uint32, body []byte) []byte {
	b := append(binary.LittleEndian.AppendUint32([]byte(name), size), body...)
	if len(body)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// Format returns the chunk that describes samples.
func Format(rate, channels int, kind Kind) []byte {
	return Chunk("fmt ", kind.describe(rate, channels))
}

func (k Kind) describe(rate, channels int) []byte {
	tag := uint16(1)
	if k.Float {
		tag = 3
	}
	block := channels * k.Bits / 8
	outer := tag
	if k.Extensible {
		outer = 0xFFFE
	}
	le := binary.LittleEndian
	b := le.AppendUint16(nil, outer)
	b = le.AppendUint16(b, uint16(channels))
	b = le.AppendUint32(b, uint32(rate))
	b = le.AppendUint32(b, uint32(rate*block))
	b = le.AppendUint16(b, uint16(block))
	b = le.AppendUint16(b, uint16(k.Bits))
	if k.Extensible {
		b = le.AppendUint16(b, 22) // bytes to come
		b = le.AppendUint16(b, uint16(k.Bits))
		b = le.AppendUint32(b, 0) // where the channels are heard
		b = le.AppendUint16(b, tag)
		b = append(b, 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71)
	}
	return b
}

func (k Kind) sample(v float64) []byte {
	le := binary.LittleEndian
	if k.Float {
		return le.AppendUint32(nil, math.Float32bits(float32(v)))
	}
	half := math.Ldexp(1, k.Bits-1)
	n := int64(min(max(math.Round(v*half), -half), half-1))
	switch k.Bits {
	case 8:
		return []byte{byte(n + 128)}
	case 16:
		return le.AppendUint16(nil, uint16(n))
	case 24:
		return le.AppendUint32(nil, uint32(n))[:3]
	}
	return le.AppendUint32(nil, uint32(n))
}
