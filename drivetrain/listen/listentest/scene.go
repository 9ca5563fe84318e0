// Package listentest makes recordings of guns that never were, for tests: the whine of
// motor and gears, the click of the pickup, the strike of the piston with the muzzle's
// pop behind it, echoes, noise, hum and wind. All numbers are invented; the same seed
// gives the same sound.
package listentest

import (
	"math"
	"math/rand/v2"
)

// Scene is what a recorder stands in.
type Scene struct {
	SampleRate int     // samples a second
	Seconds    float64 // duration [s]
	Guns       []Gun
	Echoes     []Echo
	Noise      float64 // level below the strikes of a gun at level 0; 0 for none [dB]
	Hum        float64 // amplitude of the mains' hum [1]
	Wind       float64 // amplitude of rumble below 100 Hz [1]
	Peak       float64 // largest sample; 0 stands for 0.8, over 1 is beyond what a recorder takes [1]
	Seed       uint64
}

// Gun fires one burst, or one shot.
type Gun struct {
	Start      float64   // first strike [s]
	Rate       float64   // at the start [1/s]
	Shots      int       // 1: a single shot
	Sag        float64   // share that the rate loses over the burst [1]
	SlowFirst  float64   // share by which the first period is longer [1]
	Jitter     float64   // standard deviation of a period, as a share of it [1]
	Level      float64   // of the strikes [dB]
	Uneven     float64   // standard deviation of the strikes' strength, as a share of it [1]
	Pickup     float64   // level of the pickup's click below the strike; 0 for none [dB]
	PickupAt   float64   // share of a period before the strike [1]
	Whine      float64   // level of motor and gears below the strike; 0 for none [dB]
	Switch     float64   // level of the switch's click below the strike; 0 for none [dB]
	Resonances []float64 // frequencies of shell and barrel [Hz]
}

// Echo is a wall.
type Echo struct {
	Delay float64 // [s]
	Level float64 // beside the direct sound [dB]
}

// Shots lists when a gun strikes.
func (g *Gun) strikes(r *rand.Rand) (all []float64) {
	t := g.Start
	for i := range g.Shots {
		all = append(all, t)
		period := 1 / (g.Rate * (1 - g.Sag*float64(i)/float64(max(1, g.Shots-1))))
		if i == 0 {
			period *= 1 + g.SlowFirst
		}
		t += period * (1 + g.Jitter*r.NormFloat64())
	}
	return all
}

// Make returns the sound, and when each gun strikes.
func (s *Scene) Make() (sound []float64, strikes [][]float64) {
	r := rand.New(rand.NewPCG(s.Seed, 1))
	sound = make([]float64, int(s.Seconds*float64(s.SampleRate)))
	for i := range s.Guns {
		g := &s.Guns[i]
		at := g.strikes(r)
		strikes = append(strikes, at)
		s.fire(sound, g, at, r)
	}
	direct := append([]float64(nil), sound...)
	for _, e := range s.Echoes {
		late, gain := int(e.Delay*float64(s.SampleRate)), level(e.Level)
		for i := late; i < len(sound); i++ {
			sound[i] += gain * direct[i-late]
		}
	}
	noise, rumble := below(s.Noise)*strikeRMS, 0.
	for i := range sound {
		t := float64(i) / float64(s.SampleRate)
		sound[i] += noise * r.NormFloat64()
		if s.Hum != 0 {
			sound[i] += s.Hum * math.Sin(2*math.Pi*50*t)
		}
		if s.Wind != 0 {
			slow := 2 * math.Pi * 60 / float64(s.SampleRate)
			rumble += slow * (3*r.NormFloat64() - rumble)
			sound[i] += s.Wind * rumble
		}
	}
	peak, most := s.Peak, 0.
	if peak == 0 {
		peak = 0.8
	}
	for _, v := range sound {
		most = max(most, math.Abs(v))
	}
	if most > 0 {
		for i := range sound {
			sound[i] *= peak / most
		}
	}
	return sound, strikes
}

func level(decibels float64) float64 { return math.Pow(10, decibels/20) }

// below is the level of what is so far below something else, 0 of what is not there.
func below(decibels float64) float64 {
	if decibels == 0 {
		return 0
	}
	return level(-decibels)
}

// strikeRMS is about the mean square of a strike's first 8 ms at level 0, under the root.
const strikeRMS = 0.25

// fire adds a gun's burst.
func (s *Scene) fire(sound []float64, g *Gun, strikes []float64, r *rand.Rand) {
	gain := level(g.Level)
	low := append([]float64(nil), g.Resonances...)
	if low == nil {
		low = []float64{900, 2400, 4700}
	}
	high := make([]float64, len(low))
	for i := range low {
		high[i] = 1.7 * low[i]
	}
	s.click(sound, strikes[0]-0.8/g.Rate-0.01, 0.0015, gain*below(g.Switch), high, r)
	for i, t := range strikes {
		period := 1 / g.Rate
		if i+1 < len(strikes) {
			period = strikes[i+1] - t
		}
		uneven := math.Exp(g.Uneven * r.NormFloat64())
		s.click(sound, t, 0.004, gain*uneven, low, r)
		s.click(sound, t+0.001+0.002*r.Float64(), 0.0012, 0.6*gain*uneven, nil, r) // the pop
		s.click(sound, t-g.PickupAt*period, 0.002, gain*below(g.Pickup)*math.Exp(0.5*g.Uneven*r.NormFloat64()), high, r)
	}
	s.whine(sound, g, strikes, gain*below(g.Whine))
}

// click adds a burst of noise that dies away, coloured by resonances.
func (s *Scene) click(sound []float64, at, decay, gain float64, resonances []float64, r *rand.Rand) {
	fs := float64(s.SampleRate)
	type ring struct{ a, b, y1, y2 float64 }
	var rings []ring
	for _, f := range resonances {
		if f < 0.45*fs {
			radius := math.Exp(-1 / (decay * fs))
			rings = append(rings, ring{a: 2 * radius * math.Cos(2*math.Pi*f/fs), b: radius * radius})
		}
	}
	first := int(math.Ceil(at * fs))
	for n := range int(8 * decay * fs) {
		t := (float64(first+n) - at*fs) / fs
		rise := 1 - math.Exp(-t/0.0002)
		x := r.NormFloat64() * math.Exp(-t/decay) * rise
		y := 0.6 * x
		for i := range rings {
			q := &rings[i]
			v := 0.25*x + q.a*q.y1 - q.b*q.y2
			q.y1, q.y2 = v, q.y1
			y += 0.3 * v
		}
		if i := first + n; i >= 0 && i < len(sound) {
			sound[i] += gain * y
		}
	}
}

// whine adds motor and gears, which slow down under the spring, from their start to the
// end of the run-down.
func (s *Scene) whine(sound []float64, g *Gun, strikes []float64, gain float64) {
	const meshes = 33 // of the gears a shot
	fs := float64(s.SampleRate)
	begin, end := strikes[0]-0.8/g.Rate, strikes[len(strikes)-1]
	const runDown = 0.12
	phase, next := 0., 0
	for i := max(0, int(begin*fs)); i < min(len(sound), int((end+runDown)*fs)); i++ {
		t := float64(i) / fs
		for next < len(strikes) && strikes[next] <= t {
			next++
		}
		speed, loud := g.Rate, 1.
		switch {
		case next == 0:
			speed *= min(1, (t-begin)/(strikes[0]-begin)+0.1)
		case next < len(strikes):
			from, to := strikes[next-1], strikes[next]
			speed = (1 + 0.12*math.Cos(2*math.Pi*(t-from)/(to-from))) / (to - from)
		default:
			speed *= max(0, 1-(t-end)/runDown)
			loud = max(0, 1-(t-end)/runDown)
		}
		phase += 2 * math.Pi * meshes * speed / fs
		sound[i] += gain * loud * (math.Sin(phase) + 0.6*math.Sin(2*phase+1) + 0.4*math.Sin(5*phase+2))
	}
}

// Random returns a scene that is drawn from a seed: one burst of 5 to 29 shots at 10 to 42
// a second, with noise 10 to 40 dB below it.
func Random(seed uint64) Scene {
	r := rand.New(rand.NewPCG(seed, 2))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	g := Gun{
		Start: between(0.1, 0.4), Rate: between(10, 42), Shots: 5 + r.IntN(25), Sag: between(0, 0.12), SlowFirst: between(0, 0.08),
		Jitter: between(0.001, 0.01), Uneven: between(0.05, 0.25), Pickup: between(8, 20), PickupAt: between(0.3, 0.7),
		Whine: between(22, 35), Switch: between(10, 25),
		Resonances: []float64{between(600, 1200), between(1800, 3000), between(3500, 6000)},
	}
	s := Scene{SampleRate: []int{8000, 16000, 22050, 32000, 44100, 48000}[r.IntN(6)], Guns: []Gun{g}, Noise: between(10, 40), Seed: seed}
	for range r.IntN(4) {
		s.Echoes = append(s.Echoes, Echo{Delay: between(0.004, 0.05), Level: between(-18, -8)})
	}
	if r.IntN(3) == 0 {
		s.Wind = between(0.02, 0.3)
	}
	if r.IntN(3) == 0 {
		s.Hum = between(0.02, 0.3)
	}
	s.Seconds = g.Start + float64(g.Shots)/g.Rate/(1-g.Sag) + between(0.1, 0.6)
	return s
}
