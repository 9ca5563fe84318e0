package cycle_test

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
)

// mostWork bounds what a simulation may take, in orders of series and evaluations of
// right-hand sides: three runs of a million steps of 30 orders, and the flights.
const mostWork = 100_000_000

// Whatever valid build the overrides make of the demo, its simulation ends: steady,
// stalled, single, or with a named failure, within a bound of work.
func FuzzSimulate(f *testing.F) {
	for _, seed := range []string{
		"", "trigger.mode=single", "battery.series=3\ntrigger.rounds=3", "spring.rate=2400 N/m", "motor.drag.viscous=0.1 N m s",
		"motor.armature.inductance=1e-8 H", "cylinder.dead_volume=0.01 cm3\ncylinder.nozzle=20 mm", "pellet.hop_force=200 N",
		"battery.chemistry=custom\nbattery.ocv=[[0 %, 0.1 V], [50 %, 0.1 V], [100 %, 9 V]]", "piston.drag=0 N\nmotor.drag={constant: 0 N m, viscous: 0 N m s}",
		"trigger.mode=single\nharness.switch.mosfet.active_braking=true\nharness.switch.mosfet.brake_delay=0 s", "ambient.pressure=20 kPa\nbarrel.length=3 m",
		"sector.lobes=2\nsector.teeth=10\ntappet={from: 0 deg, to: 150 deg, work: 1 J}", "gears.ratio=1000", "gears.ratio=0.5", "motor.stator.brush.drop=5 V",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, overrides string) {
		lines := strings.Split(overrides, "\n")
		if overrides == "" {
			lines = nil
		}
		d, err := buildfile.Read(plainDemo, lines...)
		if err != nil || d.Build.Trigger.Rounds > 20 {
			return
		}
		r, err := cycle.Simulate(context.Background(), d.Build, cycle.Settings{Tolerance: 1e-6, Flight: 1e-4})
		if err != nil {
			if !errors.Is(err, cycle.ErrUnfinished) {
				t.Fatalf("a failure without a name: %v", err)
			}
			return
		}
		if r.Stats.Evaluations > mostWork {
			t.Fatalf("%d evaluations", r.Stats.Evaluations)
		}
		for _, l := range []*cycle.Ledger{&r.Ledger, &r.FirstLedger} {
			if math.IsInf(l.Battery, 0) || math.Abs(l.Residual) > 1e-4*math.Abs(l.Battery)+1e-6 {
				t.Fatalf("residual %g of %g J", l.Residual, l.Battery)
			}
		}
	})
}
