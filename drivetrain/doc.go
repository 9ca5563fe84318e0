// Package drivetrain describes what a spring-piston replica is made of, from the
// gears to the pellet, and gathers motor, battery and harness with it in a
// [Build]. For a program that imports the module it is the place to start.
//
// # The tour
//
// A build is read from a file, or made in code. Files, with their units, errors with
// line and column, and defaults, are [example.org/ampstroke/drivetrain/buildfile]:
//
//	build, err := buildfile.Load("rifle.yaml") // or buildfile.Demo()
//
// In code it is a struct of parts; each part's constructor assumes what the file assumes
// ([NewSpring], [NewTrigger], motor.NewArmature, battery.New, harness.NewMOSFET), and
// [Build.Validate] reports every field that can't be used, in the names of the file. The
// example of cycle.Simulate makes a whole one.
//
// What the parts are stands here and in [example.org/ampstroke/motor] (winding, magnets,
// bench readings, over [example.org/ampstroke/motor/wire]),
// [example.org/ampstroke/battery] (cells and packs, one of your own too) and
// [example.org/ampstroke/battery/harness] (leads, connectors, switch, fuse). What they do
// in time stands in the folders below, one question a package:
//
//   - [example.org/ampstroke/drivetrain/cycle]: how it fires. Simulate keeps the courses; an
//     Evaluator gives the same figures of many builds without, a Batch on all cores.
//   - [example.org/ampstroke/drivetrain/flight]: what happens between release and rest: piston,
//     air, pellet.
//   - [example.org/ampstroke/drivetrain/heat]: how warm it gets over a firing plan.
//   - [example.org/ampstroke/drivetrain/pickup]: how sector and rack meet, what the teeth bear, and
//     the work that mends it.
//   - [example.org/ampstroke/drivetrain/study]: all of these at once. Examine says what there is to
//     say of a build ([example.org/ampstroke/drivetrain/finding]); an Evaluator answers for any
//     figures by name, by the stages alone that they need; Map does that on all cores, and a
//     Sweep for every combination of some keys' values.
//   - [example.org/ampstroke/drivetrain/levers]: what each key of a file does to each figure, and
//     which value of it alone would meet a target.
//   - [example.org/ampstroke/drivetrain/chart]: pictures of all results.
//   - [example.org/ampstroke/drivetrain/sheet]: the page that a customer takes home.
//   - [example.org/ampstroke/drivetrain/spread]: what tolerances do to a build's figures, or to
//     the outputs of any function.
//   - [example.org/ampstroke/drivetrain/search]: which parts of a shelf meet a wish.
//   - [example.org/ampstroke/drivetrain/fit]: a build corrected by bench readings.
//   - [example.org/ampstroke/drivetrain/listen]: the rate of fire heard in a recording; it knows
//     no guns, nor does [example.org/ampstroke/drivetrain/listen/wav], which reads the sound.
//     [example.org/ampstroke/drivetrain/listen/listentest] makes recordings for tests.
//
// A build fired and drawn:
//
//	r, err := cycle.Simulate(ctx, buildfile.Demo(), cycle.Settings{})
//	...
//	p, err := chart.Cycle(r)
//	...
//	err = p.Save("cycle.png")
//
// A build varied, a key of the file by its path and figures by their names:
//
//	d, err := buildfile.Read("rifle.yaml")
//	v, err := d.Vary("spring.rate", "gears.ratio")
//	e, err := study.NewEvaluator(study.Question{Figures: []string{"rate_of_fire", "muzzle_energy"}})
//	...
//	b, err := v.Put([]float64{700, 12})
//	a, err := e.Evaluate(ctx, b) // a.Values, in SI
//
// What there is to know of a figure (label, meaning, unit), and targets over figures, is
// [example.org/ampstroke/drivetrain/figure]. Numbers with units, and the one type of what
// can't be used, [example.org/ampstroke/drivetrain/quantity.Fault], are
// [example.org/ampstroke/drivetrain/quantity]: errors.As finds the first one in any error of a
// Validate or of reading, quantity.Faults lists them all.
// [example.org/ampstroke/drivetrain/wholefile] writes files whole or not at all. Who adds a
// part tests the bounds of its fields with
// [example.org/ampstroke/drivetrain/quantity/quantitytest].
//
// Inside, everything is a float64 in SI; a figure that doesn't exist is NaN. A build is
// only read once it is validated, so that goroutines may share it. Everything that takes
// long takes a context, and gives up with its error.
//
// Imports run one way, and the package quantity is near the bottom: it knows units and
// gauges of wire, and nothing of guns. That is why motor and battery import a package below drivetrain,
// which stands above them: folders say where a package is kept, and quantity is kept here
// since the module's top level holds parts alone.
//
// # Model
//
// Equations D1 to D11 of the reference model: ratio, sector, spring, tappet,
// spacer, seal, the load at the motor shaft and the inertias of pull and free phase; of a
// spring with waves (D12) its impedance and delay.
// What these parts do in time is computed in the folders below.
//
// # Symbols and units
//
// SI throughout, angles in radians, temperatures in kelvin. Ratio is motor turns
// per sector turn. The sector angle θ is fixed on the sector: 0 where the pickup
// happens without a spacer.
//
// # Sign convention
//
// Piston travel is counted from home, positive rearwards, in the direction of
// the pull; the sector's angle and speed are positive in the pull.
//
// # Range of validity
//
// Rigid gears and rack, inelastic pickup, constant mesh efficiency. The sector
// lets go where its last tooth's pitch point passes, unless a measured angle is
// given.
//
// # References
//
// Spring rate and stress: Shigley, Mechanical Engineering Design, ch. 10. The
// rest is elementary mechanics; closures are marked where they stand.
package drivetrain
