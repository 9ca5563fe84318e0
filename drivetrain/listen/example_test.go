package listen_test

import (
	"bytes"
	"context"
	"fmt"

	"example.org/ampstroke/drivetrain/listen"
	"example.org/ampstroke/drivetrain/listen/listentest"
)

// A recording of a gun that never was: fifteen shots at 20 a second, in a room with some
// noise. A real one is an *os.File.
func ExampleListen() {
	scene := listentest.Scene{
		SampleRate: 16000, Seconds: 1.2, Noise: 30, Seed: 1, Echoes: []listentest.Echo{{Delay: 0.011, Level: -12}},
		Guns: []listentest.Gun{{Start: 0.25, Rate: 20, Shots: 15, Jitter: 0.002, Uneven: 0.1, Pickup: 15, PickupAt: 0.4, Whine: 28, Switch: 22}},
	}
	sound, _ := scene.Make()
	file := bytes.NewReader(listentest.WAV(scene.SampleRate, listentest.Kind{Bits: 16}, sound))

	r, err := listen.Listen(context.Background(), file, listen.Settings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %s, %.1f /s\n", r.Outcome, r.Sum(), r.RateOfFire)
	for _, b := range r.Bursts {
		fmt.Printf("from %.2f s: %d shots, %d missed\n", b.First(), b.Shots, b.Missed)
	}
	// Output:
	// burst: 15 shots, 1 burst, 20.0 /s
	// from 0.25 s: 15 shots, 0 missed
}
