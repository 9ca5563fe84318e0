package listen

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"
)

// grid is how a recording is cut into frames and frames into bands (L1, L2).
type grid struct {
	rate, channels int
	hop, window    int      // in samples of a channel
	step           float64  // from frame to frame, in seconds
	bands          [][2]int // bins of each: first, and the one behind the last
	hann           []float64
}

// frames of a second, about; a frame is four times as long as their distance twice over.
const (
	framesPerSecond = 1000
	halfWindow      = 0.004  // s
	lowestEdge      = 300.   // Hz; wind and hum lie below
	highestEdge     = 12000. // Hz
	shareOfRate     = 0.45   // of the sampling rate that bands go up to
)

func newGrid(rate, channels int) *grid {
	g := &grid{rate: rate, channels: channels}
	g.hop = int(math.Round(float64(rate) / framesPerSecond))
	g.window = 2 * int(math.Round(halfWindow*float64(rate)))
	g.step = float64(g.hop) / float64(rate)
	top := min(highestEdge, shareOfRate*float64(rate))
	bin := func(edge float64) int { return int(math.Ceil(edge*float64(g.window)/float64(rate) - 1e-9)) }
	for j := 0; ; j++ {
		low, high := lowestEdge*math.Pow(2, float64(j)/2), lowestEdge*math.Pow(2, float64(j+1)/2)
		if low >= top {
			break
		}
		if b := [2]int{bin(low), bin(min(high, top))}; b[0] < b[1] {
			g.bands = append(g.bands, b)
		}
	}
	g.hann = make([]float64, g.window)
	for i := range g.hann {
		g.hann[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(g.window))
	}
	return g
}

// time returns the instant that a frame, or a place between two, stands for.
func (g *grid) time(frame float64) float64 {
	return (frame*float64(g.hop) + float64(g.window)/2) / float64(g.rate)
}

// frames returns how many of some thousandths of a second come next to a time.
func (g *grid) frames(seconds float64) int { return int(math.Round(seconds / g.step)) }

// lag is over how many frames a rise is taken (L3).
func (g *grid) lag() int { return g.frames(0.004) }

// analyser takes the spectra of frames, one goroutine's own.
type analyser struct {
	g         *grid
	transform *transform
	power     []float64
}

func newAnalyser(g *grid) *analyser {
	return &analyser{g: g, transform: newTransform(g.window), power: make([]float64, len(g.bands))}
}

// loudest is what an amplitude is cut at, which only absurd floats come to.
const loudest = math.MaxFloat32 / 4

// amplitudes puts those of each band into dst, for the frame that the samples begin
// with. Powers of the channels are summed, so that channels of opposite sign don't cancel.
func (a *analyser) amplitudes(dst []float32, samples []float64) {
	g := a.g
	clear(a.power)
	for c := range g.channels {
		for i := range a.transform.half {
			at := 2 * i
			a.transform.x[i] = complex(g.hann[at]*samples[at*g.channels+c], g.hann[at+1]*samples[(at+1)*g.channels+c])
		}
		a.transform.run()
		for b, bins := range g.bands {
			for k := bins[0]; k < bins[1]; k++ {
				a.power[b] += a.transform.power(k)
			}
		}
	}
	for b, p := range a.power {
		dst[b] = float32(min(math.Sqrt(p)/float64(g.window), loudest))
	}
}

// bank takes the spectra of many frames on all cores. Each frame stands for itself, so
// that their number changes nothing.
type bank struct {
	g         *grid
	analysers []*analyser
}

func newBank(g *grid) *bank {
	b := &bank{g: g}
	for range runtime.GOMAXPROCS(0) {
		b.analysers = append(b.analysers, newAnalyser(g))
	}
	return b
}

// amplitudes puts those of so many frames into dst, one frame behind the other, while
// something else is done beside it.
func (b *bank) amplitudes(dst []float32, samples []float64, frames int, beside func()) {
	const portion = 64
	bands := len(b.g.bands)
	var next atomic.Int64
	var all sync.WaitGroup
	all.Go(beside)
	for _, a := range b.analysers[:min(len(b.analysers), (frames+portion-1)/portion)] {
		all.Go(func() {
			for {
				to := int(next.Add(portion))
				from := to - portion
				if from >= frames {
					return
				}
				for k := from; k < min(to, frames); k++ {
					a.amplitudes(dst[k*bands:(k+1)*bands], samples[k*b.g.hop*b.g.channels:])
				}
			}
		})
	}
	all.Wait()
}
