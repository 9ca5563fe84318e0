package heat

import "math"

// settled is how far the temperatures may move over all repetitions that are not
// gone through since one ended where it began [K].
const settled = 1e-4

// mark is where a repetition began, and what the books said then.
type mark struct {
	rise                []float64 // of the nodes [K]
	melt                float64   // of the fuse [A2 s]
	v1, v2, spent       float64
	time, in, off       float64
	drawn               float64
	rounds              int
	conduction, loss    float64
	breaks, fired, used int
}

func (f *firing) mark() mark {
	r := f.res
	return mark{
		rise: append([]float64(nil), f.rise...), melt: f.fuse.x, v1: f.v1, v2: f.v2, spent: f.spent,
		time: f.time, in: r.Balance.In, off: r.Balance.Off, drawn: f.drawn, rounds: r.Rounds,
		conduction: r.Switching.Conduction, loss: r.Switching.Loss, breaks: r.Switching.Breaks,
		fired: f.rounds.stats.Solves, used: f.rounds.stats.Reused,
	}
}

// repeat does something so many times. Once it ends where it began, so near that the
// rest of the repetitions would move no temperature by more than settled, these are
// booked as what the last one was: equation G10 for whole repetitions. Not where every
// round is to be solved, nor where the course is kept.
func (f *firing) repeat(times int, do func() error) error {
	skips := !f.rounds.anew && f.res.Course == nil
	for left := times - 1; left >= 0; left-- {
		if !skips || left == 0 {
			if err := do(); err != nil {
				return err
			}
			continue
		}
		from := f.mark()
		if err := do(); err != nil {
			return err
		}
		if f.alike(&from, float64(left)) {
			f.again(&from, left)
			return nil
		}
	}
	return nil
}

// alike tells whether so many more repetitions would be what the one since a mark was.
func (f *firing) alike(from *mark, left float64) bool {
	for i, t := range from.rise {
		if math.Abs(f.rise[i]-t)*left > settled {
			return false
		}
	}
	if fuse := f.fuse.fuse; fuse != nil && math.Abs(f.fuse.x-from.melt)*left*fuseSpan > settled*fuse.Melting {
		return false
	}
	const charge, volts = 1e-9, 1e-6 // over all repetitions
	return math.Abs(f.spent-from.spent)*left <= charge && (math.Abs(f.v1-from.v1)+math.Abs(f.v2-from.v2))*left <= volts
}

// again books the repetition since a mark so many times more.
func (f *firing) again(from *mark, times int) {
	r, s, n := f.res, &f.rounds.stats, float64(times)
	f.time += n * (f.time - from.time)
	f.drawn += n * (f.drawn - from.drawn)
	r.Balance.In += n * (r.Balance.In - from.in)
	r.Balance.Off += n * (r.Balance.Off - from.off)
	r.Rounds += times * (r.Rounds - from.rounds)
	r.Switching.Conduction += n * (r.Switching.Conduction - from.conduction)
	r.Switching.Loss += n * (r.Switching.Loss - from.loss)
	r.Switching.Breaks += times * (r.Switching.Breaks - from.breaks)
	s.Reused += times * (s.Reused - from.used + s.Solves - from.fired)
	f.number = max(f.number, r.Rounds)
}
