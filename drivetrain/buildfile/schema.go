package buildfile

import (
	"example.org/ampstroke/battery"
	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
	"example.org/ampstroke/motor/wire"
)

// Why a value is assumed where a file leaves it out.
const (
	typical = "typical of such builds (closure)"
	usual   = "common practice"
	none    = "none unless given"
	follows = "follows from the rest of the build"
)

// schema is the build file: every key, where it goes, and what stands in for it.
// Keys are decoded in this order, so a default may look at what stands above it.
func schema() *spec {
	b := func(c ctx) *drivetrain.Build { return c.doc.Build }
	stator, armature := motor.NewStator(motor.Magnet{}, 0), motor.NewArmature(0, 0, 0)
	wound, benched := motor.New(stator, armature), motor.FromBench(motor.Bench{})
	lead := harness.NewLead(0, 0)
	gears, piston, spring := drivetrain.NewGears(1), drivetrain.NewPiston(0), drivetrain.NewSpring(0, 0)
	barrel, pellet, ambient := drivetrain.NewBarrel(0, 0), drivetrain.NewPellet(0), drivetrain.StandardAmbient()
	trigger := drivetrain.NewTrigger(&drivetrain.Build{})
	return object("",
		name("name", func(c ctx) *string { return &b(c).Name }).or("Unnamed build", "a name for tables and pictures"),
		target(),
		object("motor",
			bench(),
			object("stator",
				object("magnet",
					grade(),
					num("remanence", quantity.FluxDensity, func(c ctx) *float64 { return &b(c).Motor.Stator.Magnet.Remanence }).
						needed().lest(func(c ctx) bool { return c.doc.root.has(gradePath) }).
						unless(ungraded).byWords(func(c ctx) float64 { return graded(c).Remanence }, "by the grade").because(byGrade("")).
						within(func(c ctx) float64 { return graded(c).RemanenceTolerance }),
					num("drift", quantity.Drift, func(c ctx) *float64 { return &b(c).Motor.Stator.Magnet.Drift }).
						from(func(c ctx) float64 {
							if !ungraded(c) {
								return graded(c).Drift
							}
							return motor.RemanenceDrift(b(c).Motor.Stator.Magnet.Remanence)
						}, "by the grade, or by remanence: ferrite or neodymium").because(byGrade("by remanence: ferrite or neodymium")),
					num("permeability", quantity.Number, func(c ctx) *float64 { return &b(c).Motor.Stator.Magnet.Permeability }).def(motor.DefaultPermeability, "suppliers' tables"),
					num("thickness", quantity.Length, func(c ctx) *float64 { return &b(c).Motor.Stator.Magnet.Thickness }).needed(),
					num("arc", quantity.Angle, func(c ctx) *float64 { return &b(c).Motor.Stator.Magnet.Arc }).needed(),
					num("coercivity", quantity.FieldStrength, func(c ctx) *float64 { return &b(c).Motor.Stator.Magnet.Coercivity }).
						unless(ungraded).byWords(func(c ctx) float64 { return graded(c).Coercivity }, "by the grade").because(byGrade("")).
						within(func(c ctx) float64 { return graded(c).CoercivityTolerance }),
					num("coercivity_drift", quantity.Drift, func(c ctx) *float64 { return &b(c).Motor.Stator.Magnet.CoercivityDrift }).
						from(func(c ctx) float64 {
							if !ungraded(c) {
								return graded(c).CoercivityDrift
							}
							return motor.CoercivityDrift(b(c).Motor.Stator.Magnet.Remanence)
						}, "by the grade, or by remanence: ferrite or neodymium").because(byGrade("by remanence: ferrite or neodymium")),
					num("limit", quantity.Temperature, func(c ctx) *float64 { return &b(c).Motor.Stator.Magnet.Limit }).
						from(func(c ctx) float64 {
							m := &b(c).Motor.Stator.Magnet
							return motor.MagnetLimit(m.Remanence, m.Coercivity)
						}, "by remanence and coercivity"),
				),
				num("air_gap", quantity.Length, func(c ctx) *float64 { return &b(c).Motor.Stator.AirGap }),
				num("bore", quantity.Length, func(c ctx) *float64 { return &b(c).Motor.Stator.Bore }).positive(),
				num("length", quantity.Length, func(c ctx) *float64 { return &b(c).Motor.Stator.Length }),
				num("carter", quantity.Number, func(c ctx) *float64 { return &b(c).Motor.Stator.Carter }).def(stator.Carter, typical),
				num("leakage", quantity.Share, func(c ctx) *float64 { return &b(c).Motor.Stator.Leakage }).def(stator.Leakage, typical),
				object("brush",
					num("drop", quantity.Voltage, func(c ctx) *float64 { return &b(c).Motor.Stator.Brush.Drop }).def(stator.Brush.Drop, typical),
					num("arc", quantity.Angle, func(c ctx) *float64 { return &b(c).Motor.Stator.Brush.Arc }).def(stator.Brush.Arc, typical),
					num("limit", quantity.Temperature, func(c ctx) *float64 { return &b(c).Motor.Stator.Brush.Limit }).def(stator.Brush.Limit, typical),
				),
			).unless(noParts),
			object("armature",
				count("slots", func(c ctx) *int { return &b(c).Motor.Armature.Slots }).needed(),
				count("turns", func(c ctx) *int { return &b(c).Motor.Armature.Turns }).needed(),
				num("wire", quantity.WireSize, func(c ctx) *float64 { return &b(c).Motor.Armature.Wire }).needed().
					not(quantity.Area, "wanted the bare diameter"),
				count("strands", func(c ctx) *int { return &b(c).Motor.Armature.Strands }).def(float64(armature.Strands), usual),
				num("rotor_diameter", quantity.Length, func(c ctx) *float64 { return &b(c).Motor.Armature.RotorDiameter }).needed(),
				num("stack_length", quantity.Length, func(c ctx) *float64 { return &b(c).Motor.Armature.StackLength }).needed(),
				num("slot_opening", quantity.Length, func(c ctx) *float64 { return &b(c).Motor.Armature.SlotOpening }).needed(),
				num("tooth_width", quantity.Length, func(c ctx) *float64 { return &b(c).Motor.Armature.ToothWidth }).needed(),
				num("saturation", quantity.FluxDensity, func(c ctx) *float64 { return &b(c).Motor.Armature.Saturation }).def(armature.Saturation, typical),
				num("stacking", quantity.Share, func(c ctx) *float64 { return &b(c).Motor.Armature.Stacking }).def(armature.Stacking, typical),
				num("mean_turn", quantity.Length, func(c ctx) *float64 { return &b(c).Motor.Armature.MeanTurn }).needed(),
				num("slot_area", quantity.Area, func(c ctx) *float64 { return &b(c).Motor.Armature.SlotArea }),
				num("inertia", quantity.Inertia, func(c ctx) *float64 { return &b(c).Motor.Armature.Inertia }).needed(),
				num("inductance", quantity.Inductance, func(c ctx) *float64 { return &b(c).Motor.Armature.Inductance }).positive(),
			).unless(noParts),
			object("drag",
				num("constant", quantity.Torque, func(c ctx) *float64 { return &b(c).Motor.Drag.Constant }).
					unless(func(c ctx) bool { return b(c).Motor.Bench != nil }).def(wound.Drag.Constant, typical),
				num("viscous", quantity.ViscousDrag, func(c ctx) *float64 { return &b(c).Motor.Drag.Viscous }).
					byWords(func(c ctx) float64 {
						if b(c).Motor.Bench != nil {
							return benched.Drag.Viscous
						}
						return wound.Drag.Viscous
					}, "typical of such builds (closure); none for a bench motor, whose no-load current is all put down to constant drag"),
			),
			object("heat",
				num("winding", quantity.HeatCapacity, func(c ctx) *float64 { return &b(c).Motor.Heat.Winding }).def(wound.Heat.Winding, typical),
				num("can", quantity.HeatCapacity, func(c ctx) *float64 { return &b(c).Motor.Heat.Can }).def(wound.Heat.Can, typical),
				num("winding_to_can", quantity.ThermalResistance, func(c ctx) *float64 { return &b(c).Motor.Heat.WindingToCan }).def(wound.Heat.WindingToCan, typical),
				num("can_to_ambient", quantity.ThermalResistance, func(c ctx) *float64 { return &b(c).Motor.Heat.CanToAmbient }).def(wound.Heat.CanToAmbient, typical),
				word("class", func(c ctx) *string { return &b(c).Motor.Heat.Class }, "A", "E", "B", "F", "H"),
				num("limit", quantity.Temperature, func(c ctx) *float64 { return &b(c).Motor.Heat.Limit }).
					byWords(func(c ctx) float64 {
						if limit, ok := motor.ClassLimit(b(c).Motor.Heat.Class); ok {
							return limit
						}
						return wound.Heat.Limit
					}, "by thermal class, F if none is named (IEC 60085)"),
			),
			num("commutation", quantity.Share, func(c ctx) *float64 { return &b(c).Motor.Commutation }).also("auto", motor.DerivedCommutation).
				byWords(func(c ctx) float64 {
					if b(c).Motor.Bench != nil {
						return benched.Commutation
					}
					return wound.Commutation
				}, "by slots and saturation of the teeth; none for a bench motor, whose readings hold it"),
		).needed(),
		object("battery",
			word("chemistry", func(c ctx) *string { return (*string)(&b(c).Battery.Chemistry) }, chemistries()...).
				spelt("", func(text string) (string, bool) {
					c, ok := battery.FindChemistry(text)
					return string(c), ok
				}).needed(),
			count("series", func(c ctx) *int { return &b(c).Battery.Series }).needed(),
			count("parallel", func(c ctx) *int { return &b(c).Battery.Parallel }).def(float64(newPack().Parallel), usual),
			num("capacity", quantity.Charge, func(c ctx) *float64 { return &b(c).Battery.Capacity }).needed(),
			num("resistance", quantity.Resistance, func(c ctx) *float64 { return &b(c).Battery.Resistance }).needed(),
			num("discharge_rating", quantity.Rating, func(c ctx) *float64 { return &b(c).Battery.DischargeRating }).
				not(quantity.Current, "wanted the current as a multiple of the capacity"),
			num("state_of_charge", quantity.Share, func(c ctx) *float64 { return &b(c).Battery.StateOfCharge }).def(newPack().StateOfCharge, "a full pack"),
			num("activation_energy", quantity.MolarEnergy, func(c ctx) *float64 { return &b(c).Battery.ActivationEnergy }).def(newPack().ActivationEnergy, "closure"),
			num("reserve", quantity.Share, func(c ctx) *float64 { return &b(c).Battery.Reserve }).def(newPack().Reserve, usual),
			num("cutoff", quantity.Voltage, func(c ctx) *float64 { return &b(c).Battery.Cutoff }).
				byWords(func(c ctx) float64 { return b(c).Battery.Chemistry.Cutoff() }, "by chemistry, a cell"),
			ocv(),
			object("heat",
				num("cell", quantity.HeatCapacity, func(c ctx) *float64 { return &b(c).Battery.Heat.Cell }).from(func(c ctx) float64 { return packHeat(c).Cell }, "by capacity (closure)"),
				num("to_ambient", quantity.ThermalResistance, func(c ctx) *float64 { return &b(c).Battery.Heat.ToAmbient }).from(func(c ctx) float64 { return packHeat(c).ToAmbient }, "by capacity (closure)"),
				num("limit", quantity.Temperature, func(c ctx) *float64 { return &b(c).Battery.Heat.Limit }).def(newPack().Heat.Limit, "from memory"),
			),
		).needed(),
		object("harness",
			object("lead",
				special("gauge", quantity.Gauge, func(c ctx, v float64) { b(c).Harness.Lead.Area = wire.Area(wire.Diameter(v)) }).
					not(quantity.Area, "an area goes to the key area").not(quantity.Length, "of a diameter d, give the area π/4·d² with the key area"),
				num("area", quantity.Area, func(c ctx) *float64 { return &b(c).Harness.Lead.Area }).
					not(quantity.Gauge, "a gauge goes to the key gauge").not(quantity.Length, "of a diameter d, the area is π/4·d²"),
				num("length", quantity.Length, func(c ctx) *float64 { return &b(c).Harness.Lead.Length }).needed(),
				word("insulation", func(c ctx) *string { return &b(c).Harness.Lead.Insulation }, harness.Insulations()...).or(lead.Insulation, usual),
				num("wall", quantity.Length, func(c ctx) *float64 { return &b(c).Harness.Lead.Wall }).def(lead.Wall, typical),
				num("emissivity", quantity.Share, func(c ctx) *float64 { return &b(c).Harness.Lead.Emissivity }).def(lead.Emissivity, typical),
				num("limit", quantity.Temperature, func(c ctx) *float64 { return &b(c).Harness.Lead.Limit }).
					byWords(func(c ctx) float64 {
						limit, _ := harness.InsulationLimit(b(c).Harness.Lead.Insulation)
						return limit
					}, "by insulation"),
			).needed(),
			connectors(),
			object("switch", mosfet(), contacts()).needed(),
			optional("fuse", func(c ctx) { b(c).Harness.Fuse = new(harness.Fuse) },
				num("rating", quantity.Current, func(c ctx) *float64 { return &b(c).Harness.Fuse.Rating }).needed(),
				num("melting", quantity.MeltingIntegral, func(c ctx) *float64 { return &b(c).Harness.Fuse.Melting }).
					from(func(c ctx) float64 { return harness.NewFuse(b(c).Harness.Fuse.Rating).Melting }, "1.0 s · rating² (closure)"),
			),
		).needed(),
		object("gears",
			num("ratio", quantity.Ratio, func(c ctx) *float64 { return &b(c).Gears.Ratio }),
			teeth(),
			num("efficiency", quantity.Share, func(c ctx) *float64 { return &b(c).Gears.Efficiency }).def(gears.Efficiency, typical),
			num("inertia", quantity.Inertia, func(c ctx) *float64 { return &b(c).Gears.Inertia }).def(gears.Inertia, typical),
			num("churning", quantity.ViscousDrag, func(c ctx) *float64 { return &b(c).Gears.Churning }).def(gears.Churning, none),
		).needed(),
		object("sector",
			num("module", quantity.Length, func(c ctx) *float64 { return &b(c).Sector.Module }).needed(),
			count("teeth", func(c ctx) *int { return &b(c).Sector.Teeth }).needed(),
			count("full_teeth", func(c ctx) *int { return &b(c).Sector.FullTeeth }).needed(),
			count("removed", func(c ctx) *int { return &b(c).Sector.Removed }).def(float64(newSector().Removed), none),
			count("lobes", func(c ctx) *int { return &b(c).Sector.Lobes }).def(float64(newSector().Lobes), usual),
			num("pressure_angle", quantity.Angle, func(c ctx) *float64 { return &b(c).Sector.PressureAngle }).def(newSector().PressureAngle, "standard teeth"),
			num("addendum", quantity.Number, func(c ctx) *float64 { return &b(c).Sector.Addendum }).def(newSector().Addendum, "standard teeth, in modules"),
			num("face_width", quantity.Length, func(c ctx) *float64 { return &b(c).Sector.FaceWidth }).def(newSector().FaceWidth, typical),
			num("engaged_angle", quantity.Angle, func(c ctx) *float64 { return &b(c).Sector.EngagedAngle }).positive(),
		).needed(),
		rack(),
		pads(),
		object("piston",
			num("mass", quantity.Mass, func(c ctx) *float64 { return &b(c).Piston.Mass }).needed(),
			num("drag", quantity.Force, func(c ctx) *float64 { return &b(c).Piston.Drag }).def(piston.Drag, typical),
			num("drag_pull", quantity.Force, func(c ctx) *float64 { return &b(c).Piston.DragPull }).
				from(func(c ctx) float64 { return b(c).Piston.Drag }, "the drag of the flight"),
			num("seal_area", quantity.Area, func(c ctx) *float64 { return &b(c).Piston.SealArea }).def(piston.SealArea, none),
			num("clear", quantity.Length, func(c ctx) *float64 { return &b(c).Piston.Clear }).def(piston.Clear, typical),
			num("spacer", quantity.Length, func(c ctx) *float64 { return &b(c).Piston.Spacer }).def(piston.Spacer, none),
		).needed(),
		object("spring",
			num("rate", quantity.SpringRate, func(c ctx) *float64 { return &b(c).Spring.Rate }).
				not(quantity.Velocity, "the velocity that a spring is sold by is no rate; press it on scales, or give wire, coil_diameter and coils"),
			num("preload", quantity.Length, func(c ctx) *float64 { return &b(c).Spring.Preload }),
			num("wire", quantity.Length, func(c ctx) *float64 { return &b(c).Spring.Wire }).positive(),
			num("coil_diameter", quantity.Length, func(c ctx) *float64 { return &b(c).Spring.CoilDiameter }).positive(),
			num("coils", quantity.Number, func(c ctx) *float64 { return &b(c).Spring.Coils }).positive(),
			num("modulus", quantity.Stress, func(c ctx) *float64 { return &b(c).Spring.Modulus }).
				unless(func(c ctx) bool { return b(c).Spring.Wire == 0 }).def(drivetrain.MusicWireModulus, "spring steel"),
			num("free_length", quantity.Length, func(c ctx) *float64 { return &b(c).Spring.FreeLength }).positive(),
			num("installed_length", quantity.Length, func(c ctx) *float64 { return &b(c).Spring.InstalledLength }).positive(),
			num("mass", quantity.Mass, func(c ctx) *float64 { return &b(c).Spring.Mass }).def(spring.Mass, typical),
			flag("waves", func(c ctx) *bool { return &b(c).Spring.Waves }).stands(spring.Waves, "the coils' mass runs in waves"),
		).needed(),
		object("cylinder",
			num("bore", quantity.Length, func(c ctx) *float64 { return &b(c).Cylinder.Bore }).needed(),
			num("dead_volume", quantity.Volume, func(c ctx) *float64 { return &b(c).Cylinder.DeadVolume }).def(newCylinder().DeadVolume, typical),
			num("port", quantity.Length, func(c ctx) *float64 { return &b(c).Cylinder.Port }),
			num("port_area", quantity.Area, func(c ctx) *float64 { return &b(c).Cylinder.PortArea }).
				unless(func(c ctx) bool { return b(c).Cylinder.Port == 0 }).def(newCylinder().PortArea, typical),
			num("nozzle", quantity.Length, func(c ctx) *float64 { return &b(c).Cylinder.Nozzle }).def(newCylinder().Nozzle, typical),
			num("discharge", quantity.Number, func(c ctx) *float64 { return &b(c).Cylinder.Discharge }).def(newCylinder().Discharge, typical),
			num("seal_leak", quantity.Area, func(c ctx) *float64 { return &b(c).Cylinder.SealLeak }).def(newCylinder().SealLeak, typical),
			num("wall_heat", quantity.Number, func(c ctx) *float64 { return &b(c).Cylinder.WallHeat }).def(newCylinder().WallHeat, "as reckoned"),
		).needed(),
		object("barrel",
			num("bore", quantity.Length, func(c ctx) *float64 { return &b(c).Barrel.Bore }).needed(),
			num("length", quantity.Length, func(c ctx) *float64 { return &b(c).Barrel.Length }).needed(),
			num("breech_volume", quantity.Volume, func(c ctx) *float64 { return &b(c).Barrel.BreechVolume }).def(barrel.BreechVolume, typical),
			num("clearance_discharge", quantity.Number, func(c ctx) *float64 { return &b(c).Barrel.ClearanceDischarge }).def(barrel.ClearanceDischarge, typical),
			word("air", func(c ctx) *string { return (*string)(&b(c).Barrel.Air) }, string(drivetrain.MovingAir), string(drivetrain.StillAir)).
				or(string(barrel.Air), "the air has mass"),
			num("wall_heat", quantity.Number, func(c ctx) *float64 { return &b(c).Barrel.WallHeat }).def(barrel.WallHeat, "as reckoned"),
		).needed(),
		object("pellet",
			num("mass", quantity.Mass, func(c ctx) *float64 { return &b(c).Pellet.Mass }).needed(),
			num("diameter", quantity.Length, func(c ctx) *float64 { return &b(c).Pellet.Diameter }).def(pellet.Diameter, typical),
			num("hop_force", quantity.Force, func(c ctx) *float64 { return &b(c).Pellet.HopForce }).def(pellet.HopForce, typical),
			num("hop_length", quantity.Length, func(c ctx) *float64 { return &b(c).Pellet.HopLength }).def(pellet.HopLength, typical),
			num("barrel_drag", quantity.Force, func(c ctx) *float64 { return &b(c).Pellet.BarrelDrag }).def(pellet.BarrelDrag, typical),
		).needed(),
		object("trigger",
			word("mode", func(c ctx) *string { return (*string)(&b(c).Trigger.Mode) }, string(drivetrain.Automatic), string(drivetrain.Single)).or(string(trigger.Mode), usual),
			num("cutoff", quantity.Angle, func(c ctx) *float64 { return &b(c).Trigger.Cutoff }).
				from(func(c ctx) float64 { return drivetrain.DefaultCutoff(b(c)) }, "10° behind the release (closure)"),
			num("start", quantity.Angle, func(c ctx) *float64 { return &b(c).Trigger.Start }).def(trigger.Start, "at the pickup"),
			count("rounds", func(c ctx) *int { return &b(c).Trigger.Rounds }),
		),
		optional("tappet", func(c ctx) { b(c).Tappet = new(drivetrain.Tappet) },
			num("from", quantity.Angle, func(c ctx) *float64 { return &b(c).Tappet.From }).needed(),
			num("to", quantity.Angle, func(c ctx) *float64 { return &b(c).Tappet.To }).needed(),
			num("work", quantity.Energy, func(c ctx) *float64 { return &b(c).Tappet.Work }).needed(),
		),
		object("ambient",
			num("temperature", quantity.Temperature, func(c ctx) *float64 { return &b(c).Ambient.Temperature }).def(ambient.Temperature, "a mild day"),
			num("pressure", quantity.Pressure, func(c ctx) *float64 { return &b(c).Ambient.Pressure }).def(ambient.Pressure, "sea level"),
		),
	)
}

// store puts a value behind a pointer of a build, which owns what it points to.
func store(at **float64, v float64) {
	if *at == nil {
		*at = new(float64)
	}
	**at = v
}

// alternative is two sets of keys of which one is given.
type alternative struct {
	a, b   []string
	within string // looked at only where this key is given; "": always
	stays  bool   // b is not taken away when a is set
}

func alternatives() []alternative {
	return []alternative{
		{a: []string{"motor.stator", "motor.armature"}, b: []string{"motor.bench"}},
		{a: []string{"motor.drag.constant"}, b: []string{"motor.bench"}, within: "motor.bench", stays: true},
		{a: []string{"motor.commutation"}, b: []string{"motor.bench"}, within: "motor.bench", stays: true},
		{a: []string{"motor.stator.air_gap"}, b: []string{"motor.stator.bore"}, within: "motor.stator"},
		{a: []string{"motor.bench.stall_current"}, b: []string{"motor.bench.resistance"}, within: "motor.bench"},
		{a: []string{"harness.lead.gauge"}, b: []string{"harness.lead.area"}},
		{a: []string{"harness.switch.mosfet"}, b: []string{"harness.switch.contacts"}},
		{a: []string{"gears.ratio"}, b: []string{"gears.teeth"}},
		{a: []string{"spring.rate"}, b: []string{"spring.wire", "spring.coil_diameter", "spring.coils", "spring.modulus"}},
		{a: []string{"spring.preload"}, b: []string{"spring.free_length", "spring.installed_length"}},
	}
}

// noParts tells that the motor is given by bench readings, or not at all; the
// rule of alternatives speaks of the latter.
func noParts(c ctx) bool {
	given := func(key string) bool { return c.doc.root.has([]string{"motor", key}) }
	return given("bench") || !given("stator") && !given("armature")
}

func bench() *spec {
	at := func(c ctx) *motor.Bench { return c.doc.Build.Motor.Bench }
	return optional("bench", func(c ctx) { c.doc.Build.Motor.Bench = new(motor.Bench) },
		num("voltage", quantity.Voltage, func(c ctx) *float64 { return &at(c).Voltage }).needed(),
		num("no_load_speed", quantity.AngularSpeed, func(c ctx) *float64 { return &at(c).NoLoadSpeed }).needed(),
		num("no_load_current", quantity.Current, func(c ctx) *float64 { return &at(c).NoLoadCurrent }).needed(),
		num("brush_drop", quantity.Voltage, func(c ctx) *float64 { return &at(c).BrushDrop }).def(motor.DefaultBrushDrop, typical),
		num("stall_current", quantity.Current, func(c ctx) *float64 { return &at(c).StallCurrent }).positive(),
		num("resistance", quantity.Resistance, func(c ctx) *float64 { return &at(c).Resistance }).positive(),
		num("inertia", quantity.Inertia, func(c ctx) *float64 { return &at(c).Inertia }).needed(),
		num("inductance", quantity.Inductance, func(c ctx) *float64 { return &at(c).Inductance }).positive().
			from(func(c ctx) float64 { return motor.BenchTimeConstant * at(c).TerminalResistance() }, "0.7 ms times the resistance (closure)"),
		num("drift", quantity.Drift, func(c ctx) *float64 { return &at(c).Drift }).def(motor.SinteredNdFeB().Drift, "of Ke with the magnets' temperature: neodymium"),
		num("temperature", quantity.Temperature, func(c ctx) *float64 { return &at(c).Temperature }).def(motor.BenchTemperature, "a motor that ran for a few seconds"),
	)
}

func newPack() battery.Pack            { return battery.New(battery.LithiumPolymer, 1, 1, 1, 1) }
func newSector() drivetrain.Sector     { return drivetrain.NewSector(0, 0, 0) }
func newCylinder() drivetrain.Cylinder { return drivetrain.NewCylinder(0) }

func packHeat(c ctx) battery.Heat {
	p := &c.doc.Build.Battery
	return battery.DefaultHeat(max(1, p.Series), max(1, p.Parallel), p.Capacity)
}

// gradePath is where the magnets' grade stands.
var gradePath = []string{"motor", "stator", "magnet", "grade"}

// grade is the standard name of the magnets' material. What it says of remanence,
// drift and coercivity stands in where those are left out.
func grade() *spec {
	return word("grade", func(c ctx) *string { return &c.doc.grade }, motor.Grades()...).
		spelt("one of "+motor.GradesInShort()+" (of another, give remanence and coercivity)", func(text string) (string, bool) {
			g, ok := motor.FindGrade(text)
			return g.Name, ok
		})
}

// graded is what the magnets' grade says, zero where none is known.
func graded(c ctx) motor.Grade {
	d := c.doc
	if d.graded.Name != d.grade {
		d.graded, _ = motor.FindGrade(d.grade)
	}
	return d.graded
}

func ungraded(c ctx) bool { return c.doc.grade == "" }

// byGrade says that a value is that of the grade, or where it comes from otherwise.
func byGrade(otherwise string) func(ctx) string {
	return func(c ctx) string {
		if ungraded(c) {
			return otherwise
		}
		return "by grade " + c.doc.grade
	}
}

func chemistries() (names []string) {
	for _, c := range battery.Chemistries() {
		names = append(names, string(c))
	}
	return names
}

func target() *spec {
	s := &spec{key: "target", shape: mapping}
	for i, f := range targetFigures() {
		least := num("min", f.Kind, func(c ctx) *float64 { return &c.doc.want(i)[0] })
		most := num("max", f.Kind, func(c ctx) *float64 { return &c.doc.want(i)[1] })
		want := optional(f.Name, func(c ctx) { c.doc.want(i) }, least, most)
		for _, part := range []*spec{least, most, want} {
			switch f.Kind {
			case quantity.Velocity:
				part.not(quantity.Energy, "an energy goes to target.muzzle_energy")
			case quantity.Energy:
				part.not(quantity.Velocity, "a velocity goes to target.muzzle_velocity")
			case quantity.Rate:
				part.not(quantity.AngularSpeed, "rounds a minute are written 1200 1/min").not(quantity.Velocity, "a velocity goes to target.muzzle_velocity")
			}
		}
		s.parts = append(s.parts, want)
	}
	return s
}

func ocv() *spec {
	row := &spec{shape: list, pair: true, start: func(c ctx) {
		p := &c.doc.Build.Battery
		p.OCVTable = append(p.OCVTable, battery.OCVPoint{})
	}, parts: []*spec{
		num("0", quantity.Share, func(c ctx) *float64 { return &c.doc.Build.Battery.OCVTable[c.i].Charge }).needed(),
		num("1", quantity.Voltage, func(c ctx) *float64 { return &c.doc.Build.Battery.OCVTable[c.i].Voltage }).needed(),
	}}
	return &spec{key: "ocv", shape: list, parts: []*spec{row}, example: "[[0 %, 3.0 V], [100 %, 4.2 V]]"}
}

func connectors() *spec {
	at := func(c ctx) *harness.Connector { return &c.doc.Build.Harness.Connectors[c.i] }
	typicalOne := harness.NewConnector(0)
	one := optional("", func(c ctx) {
		h := &c.doc.Build.Harness
		h.Connectors = append(h.Connectors, harness.Connector{})
	},
		num("resistance", quantity.Resistance, func(c ctx) *float64 { return &at(c).Resistance }).needed(),
		object("heat",
			num("capacity", quantity.HeatCapacity, func(c ctx) *float64 { return &at(c).Heat.Capacity }).def(typicalOne.Heat.Capacity, typical),
			num("to_lead", quantity.ThermalResistance, func(c ctx) *float64 { return &at(c).Heat.ToLead }).def(typicalOne.Heat.ToLead, typical),
			num("to_ambient", quantity.ThermalResistance, func(c ctx) *float64 { return &at(c).Heat.ToAmbient }).def(typicalOne.Heat.ToAmbient, typical),
		),
		num("limit", quantity.Temperature, func(c ctx) *float64 { return &at(c).Limit }).def(typicalOne.Limit, "a nylon housing"),
	)
	return &spec{key: "connectors", shape: list, parts: []*spec{one}, example: "[{resistance: 0.8 mohm}]"}
}

func mosfet() *spec {
	at := func(c ctx) *harness.MOSFET { return c.doc.Build.Harness.Switch.MOSFET }
	t := harness.NewMOSFET(0)
	return optional("mosfet", func(c ctx) { c.doc.Build.Harness.Switch.MOSFET = new(harness.MOSFET) },
		num("resistance", quantity.Resistance, func(c ctx) *float64 { return &at(c).Resistance }).needed(),
		num("drift", quantity.Drift, func(c ctx) *float64 { return &at(c).Drift }).def(t.Drift, typical),
		num("flyback_drop", quantity.Voltage, func(c ctx) *float64 { return &at(c).FlybackDrop }).def(t.FlybackDrop, typical),
		flag("active_braking", func(c ctx) *bool { return &at(c).ActiveBraking }),
		num("brake_delay", quantity.Time, func(c ctx) *float64 { return &at(c).BrakeDelay }).def(t.BrakeDelay, typical),
		special("brake_resistance", quantity.Resistance, func(c ctx, v float64) { store(&at(c).BrakeResistance, v) }),
		num("junction_to_case", quantity.ThermalResistance, func(c ctx) *float64 { return &at(c).JunctionToCase }).def(t.JunctionToCase, typical),
		num("heat", quantity.HeatCapacity, func(c ctx) *float64 { return &at(c).Heat }).def(t.Heat, typical),
		num("to_ambient", quantity.ThermalResistance, func(c ctx) *float64 { return &at(c).ToAmbient }).def(t.ToAmbient, typical),
		num("limit", quantity.Temperature, func(c ctx) *float64 { return &at(c).Limit }).def(t.Limit, typical),
	)
}

func contacts() *spec {
	at := func(c ctx) *harness.Contacts { return c.doc.Build.Harness.Switch.Contacts }
	t := harness.NewContacts("copper", 0)
	metal := func(c ctx) harness.ContactMetal {
		m, _ := harness.FindContactMetal(at(c).Material)
		return m
	}
	var metals []string
	for _, m := range harness.ContactMetals() {
		metals = append(metals, m.Name)
	}
	return optional("contacts", func(c ctx) { c.doc.Build.Harness.Switch.Contacts = new(harness.Contacts) },
		word("material", func(c ctx) *string { return &at(c).Material }, metals...).needed(),
		num("force", quantity.Force, func(c ctx) *float64 { return &at(c).Force }).needed(),
		num("hardness", quantity.Stress, func(c ctx) *float64 { return &at(c).Hardness }).byWords(func(c ctx) float64 { return metal(c).Hardness }, "by material, from memory"),
		num("heat", quantity.HeatCapacity, func(c ctx) *float64 { return &at(c).Heat }).def(t.Heat, typical),
		num("to_ambient", quantity.ThermalResistance, func(c ctx) *float64 { return &at(c).ToAmbient }).def(t.ToAmbient, typical),
		num("limit", quantity.Temperature, func(c ctx) *float64 { return &at(c).Limit }).byWords(func(c ctx) float64 { return metal(c).Softening }, "where the metal softens"),
	)
}

func teeth() *spec {
	at := func(c ctx) *drivetrain.GearTeeth { return c.doc.Build.Gears.Teeth }
	return optional("teeth", func(c ctx) { c.doc.Build.Gears.Teeth = new(drivetrain.GearTeeth) },
		count("pinion", func(c ctx) *int { return &at(c).Pinion }).needed(),
		count("bevel", func(c ctx) *int { return &at(c).Bevel }).needed(),
		count("bevel_pinion", func(c ctx) *int { return &at(c).BevelPinion }).needed(),
		count("spur", func(c ctx) *int { return &at(c).Spur }).needed(),
		count("spur_pinion", func(c ctx) *int { return &at(c).SpurPinion }).needed(),
		count("sector", func(c ctx) *int { return &at(c).Sector }).needed(),
	)
}

func rack() *spec {
	at := func(c ctx) *drivetrain.Rack { return c.doc.Build.Rack }
	t := func(c ctx) drivetrain.Rack { return drivetrain.NewRack(&c.doc.Build.Sector) }
	usualRack := drivetrain.NewRack(&drivetrain.Sector{})
	material := func(c ctx) drivetrain.RackMaterial {
		m, _ := drivetrain.FindRackMaterial(at(c).Material)
		return m
	}
	var names []string
	for _, m := range drivetrain.RackMaterials() {
		names = append(names, m.Name)
	}
	down := func(c ctx) *drivetrain.TakenDown { return &at(c).TakenDown[c.i] }
	tooth := optional("", func(c ctx) { at(c).TakenDown = append(at(c).TakenDown, drivetrain.TakenDown{}) },
		count("tooth", func(c ctx) *int { return &down(c).Tooth }).needed(),
		num("depth", quantity.Length, func(c ctx) *float64 { return &down(c).Depth }).needed(),
	)
	return optional("rack", func(c ctx) { c.doc.Build.Rack = new(drivetrain.Rack) },
		count("teeth", func(c ctx) *int { return &at(c).Teeth }).from(func(c ctx) float64 { return float64(t(c).Teeth) }, "as many as the sector pulls"),
		special("pickup_offset", quantity.Length, func(c ctx, v float64) { store(&at(c).PickupOffset, v) }),
		word("material", func(c ctx) *string { return &at(c).Material }, names...).or(usualRack.Material, usual),
		num("modulus", quantity.Stress, func(c ctx) *float64 { return &at(c).Modulus }).byWords(func(c ctx) float64 { return material(c).Modulus }, "by material"),
		num("strength", quantity.Stress, func(c ctx) *float64 { return &at(c).Strength }).byWords(func(c ctx) float64 { return material(c).Strength }, "by material"),
		num("face_width", quantity.Length, func(c ctx) *float64 { return &at(c).FaceWidth }).def(usualRack.FaceWidth, typical),
		num("addendum", quantity.Length, func(c ctx) *float64 { return &at(c).Addendum }).from(func(c ctx) float64 { return t(c).Addendum }, "the sector's"),
		num("tip_clearance", quantity.Length, func(c ctx) *float64 { return &at(c).TipClearance }).from(func(c ctx) float64 { return t(c).TipClearance }, "a quarter of the module"),
		num("backlash", quantity.Length, func(c ctx) *float64 { return &at(c).Backlash }).def(usualRack.Backlash, typical),
		num("lift", quantity.Length, func(c ctx) *float64 { return &at(c).Lift }).def(0, none),
		&spec{key: "taken_down", shape: list, parts: []*spec{tooth}, example: "[{tooth: 2, depth: 2.25 mm}]"},
		num("body_stiffness", quantity.SpringRate, func(c ctx) *float64 { return &at(c).BodyStiffness }).def(usualRack.BodyStiffness, typical),
	)
}

func pads() *spec {
	pad := num("", quantity.Length, func(c ctx) *float64 { return &c.doc.Build.Pads[c.i] })
	pad.start = func(c ctx) { c.doc.Build.Pads = append(c.doc.Build.Pads, 0) }
	return &spec{key: "pads", shape: list, parts: []*spec{pad}, example: "[0.5 mm, 1.0 mm]"}
}
