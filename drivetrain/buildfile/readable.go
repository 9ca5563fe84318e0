package buildfile

import (
	"slices"
	"strings"
	"sync"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/motor"
)

// GunFigures lists the figures that may be read of a whole gun: those of a cycle, but for
// what only a gun has that doesn't fire.
func GunFigures() figure.List[*cycle.Result] { return slices.Clone(gunFigures()) }

var gunFigures = sync.OnceValue(func() figure.List[*cycle.Result] {
	return slices.DeleteFunc(cycle.Figures(), func(f figure.Of[*cycle.Result]) bool {
		return f.Name == "stall_angle" || f.Name == "stall_current" || f.Name == "stall_time"
	})
})

// MotorFigures lists the figures that may be read of the motor alone, on a supply.
func MotorFigures() figure.List[*motor.Supplied] { return slices.Clone(motorFigures()) }

var motorFigures = sync.OnceValue(func() (all figure.List[*motor.Supplied]) {
	for _, name := range []string{"no_load_speed", "no_load_current", "motor_stall_current", "stall_torque", "resistance", "ke"} {
		f, ok := motor.Figures().Find(name)
		if !ok {
			panic("buildfile: no figure " + name) // any test sees it
		}
		f.Name = strings.TrimPrefix(name, "motor_") // a gun on a supply is none
		all = append(all, f)
	}
	return all
})
