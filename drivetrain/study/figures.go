package study

import (
	"math"
	"slices"
	"sync"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/motor"
)

// Stages are the results of the rooms that a build's figures come from; nil where one
// wasn't asked, or has none.
type Stages struct {
	Cycle  *cycle.Result
	Motor  *motor.Supplied
	Pickup *pickup.State
	Heat   *heat.Result
}

// All lists the figures of all stages. Names are unique. The list is the caller's.
func All() figure.List[*Stages] { return slices.Clone(all()) }

var all = sync.OnceValue(func() figure.List[*Stages] {
	return slices.Concat(
		figure.From(cycle.Figures(), func(s *Stages) *cycle.Result { return s.Cycle }),
		figure.From(motor.Figures(), func(s *Stages) *motor.Supplied { return s.Motor }),
		figure.From(pickup.Figures(), func(s *Stages) *pickup.State { return s.Pickup }),
		figure.From(heat.Figures(), func(s *Stages) *heat.Result { return s.Heat }),
	)
})

// Figures lists what there is to know of the figures of all stages; those of heat want a
// firing plan. The list is the caller's.
func Figures() []figure.Info { return all().Infos() }

// FindFigure returns the figure of a name, false if there is none.
func FindFigure(name string) (figure.Info, bool) {
	f, ok := all().Find(name)
	return f.Info, ok
}

// Headline names the figures that people ask of first, in a mode of fire.
func Headline(mode drivetrain.Mode) (names []string) {
	for _, name := range []string{
		"rate_of_fire", "trigger_delay", "pme_margin", "muzzle_velocity", "muzzle_energy",
		"current_rms", "current_peak", "charge_per_shot", "spring_peak_force", "piston_impact",
	} {
		if f, _ := FindFigure(name); mode == drivetrain.Automatic || !f.Steady && name != "current_peak" {
			names = append(names, name)
		}
	}
	return names
}

// Supplied is a build's motor alone, on the voltage of the rested pack and at ambient
// temperature.
func Supplied(b *drivetrain.Build) motor.Supplied {
	cell, err := b.Battery.Cell()
	if err != nil { // a valid pack has one
		panic(err)
	}
	t := b.Ambient.Temperature
	return b.Motor.On(b.Battery.OCV(cell, b.Battery.StateOfCharge), t, t)
}

// Value returns a figure of the examined build by its name, NaN where the build has none
// [SI]. Figures of heat want a firing plan and are NaN.
func (x *Examination) Value(name string) float64 {
	f, ok := all().Find(name)
	if !ok {
		return math.NaN()
	}
	supplied := Supplied(x.Build)
	return f.Value(&Stages{Cycle: x.Cycle, Motor: &supplied, Pickup: x.Pickup})
}

// stage is the room that a figure comes from.
type stage int

const (
	ofCycle stage = iota
	ofMotor
	ofPickup
	ofHeat
)

// stageOf returns the room of a figure.
func stageOf(name string) stage { return stages()[name] }

var stages = sync.OnceValue(func() map[string]stage {
	of := map[string]stage{}
	for s, infos := range [][]figure.Info{ofMotor: motor.Figures().Infos(), ofPickup: pickup.Figures().Infos(), ofHeat: heat.Figures().Infos()} {
		for _, f := range infos {
			of[f.Name] = stage(s)
		}
	}
	return of
})
