package listen

// clipping looks for samples that stand at the end of their channel's range for longer
// than a sound would.
type clipping struct {
	ends [4]end // largest and smallest of each channel
}

// end is the largest value of a channel so far, or its smallest one with the sign changed.
type end struct {
	value  float64
	run    int // samples at the value that are running
	places int // where three or more were
	any    bool
}

func (e *end) add(v float64) {
	const running = 3
	switch {
	case !e.any || v > e.value:
		*e = end{value: v, run: 1, any: true}
	case v < e.value:
		e.run = 0
	default:
		e.run++
		if e.run == running {
			e.places++
		}
	}
}

func (c *clipping) add(samples []float64, channels int) {
	for i, v := range samples {
		at := 2 * (i % channels)
		c.ends[at].add(v)
		c.ends[at+1].add(-v)
	}
}

// found tells whether a channel is clipped.
func (c *clipping) found() bool {
	const (
		places = 5
		loud   = 0.05
	)
	for at := 0; at < len(c.ends); at += 2 {
		n := 0
		for _, e := range c.ends[at : at+2] {
			if e.value > loud {
				n += e.places
			}
		}
		if n >= places {
			return true
		}
	}
	return false
}

// envelope keeps the least and the greatest sample of some thousand columns, however long
// the sound is: once there are too many, two become one.
type envelope struct {
	channels    int
	width       int // of a column, in samples of a channel
	filled      int // of the last column, in samples of all channels
	least, most []float64
}

const mostColumns = 8192

func newEnvelope(channels int) *envelope { return &envelope{channels: channels, width: 1} }

func (e *envelope) add(samples []float64) {
	for _, v := range samples {
		if last := len(e.least) - 1; e.filled > 0 {
			e.least[last], e.most[last] = min(e.least[last], v), max(e.most[last], v)
		} else {
			if len(e.least) == mostColumns {
				e.halve()
			}
			e.least, e.most = append(e.least, v), append(e.most, v)
		}
		if e.filled++; e.filled == e.width*e.channels {
			e.filled = 0
		}
	}
}

// halve makes one column of two, all of which are full.
func (e *envelope) halve() {
	n := len(e.least) / 2
	for i := range n {
		e.least[i] = min(e.least[2*i], e.least[2*i+1])
		e.most[i] = max(e.most[2*i], e.most[2*i+1])
	}
	e.least, e.most = e.least[:n], e.most[:n]
	e.width *= 2
}

// course returns the envelope of a recording at a sampling rate.
func (e *envelope) course(rate int) Course {
	return Course{Column: float64(e.width) / float64(rate), Least: e.least, Most: e.most}
}
