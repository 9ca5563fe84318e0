package buildfile

import (
	"fmt"

	"example.org/ampstroke/drivetrain/quantity"
)

// hintOf says what to write in place of a key that people expect and the schema
// doesn't have; "" for any other.
func hintOf(path string) string {
	if key, ok := synonyms[path]; ok {
		return fmt.Sprintf("did you mean %s?", key)
	}
	return hints[path]
}

// synonyms are other names of keys, by their path.
var synonyms = map[string]string{
	"target.fps": "muzzle_velocity", "target.velocity": "muzzle_velocity", "target.speed": "muzzle_velocity",
	"target.energy": "muzzle_energy", "target.joule": "muzzle_energy", "target.joules": "muzzle_energy",
	"target.rps": "rate_of_fire", "target.rof": "rate_of_fire", "target.rounds_per_second": "rate_of_fire",
	"target.efficiency": "overall_efficiency",

	"motor.magnet": "stator.magnet", "motor.brush": "stator.brush", "motor.brushes": "stator.brush",
	"motor.winding": "armature", "motor.rotor": "armature", "motor.can": "stator",
	"motor.stator.magnet.br": "remanence", "motor.stator.magnet.strength": "remanence", "motor.stator.magnet.flux_density": "remanence",
	"motor.stator.magnet.hcj": "coercivity", "motor.stator.magnet.material": "grade", "motor.stator.magnet.type": "grade",
	"motor.stator.gap":         "air_gap",
	"motor.armature.wire_size": "wire", "motor.armature.wire_diameter": "wire", "motor.armature.gauge": "wire", "motor.armature.awg": "wire",
	"motor.armature.winds": "turns", "motor.armature.diameter": "rotor_diameter", "motor.armature.length": "stack_length",
	"motor.bench.rpm": "no_load_speed", "motor.bench.speed": "no_load_speed", "motor.bench.current": "no_load_current",

	"battery.type": "chemistry", "battery.cells": "series", "battery.c_rating": "discharge_rating", "battery.c_rate": "discharge_rating",
	"battery.rating": "discharge_rating", "battery.discharge": "discharge_rating", "battery.internal_resistance": "resistance",
	"battery.charge": "state_of_charge", "battery.soc": "state_of_charge", "battery.mah": "capacity",

	"harness.wire": "lead", "harness.wires": "lead", "harness.leads": "lead", "harness.cable": "lead",
	"harness.connector": "connectors", "harness.plugs": "connectors",
	"harness.lead.awg": "gauge", "harness.lead.wire": "gauge", "harness.lead.size": "gauge",
	"harness.lead.cross_section": "area", "harness.lead.section": "area",
	"harness.fuse.current": "rating", "harness.fuse.i2t": "melting",

	"gears.gear_ratio": "ratio", "sector.short_stroke": "removed", "sector.teeth_removed": "removed", "sector.width": "face_width",
	"piston.weight": "mass", "pellet.weight": "mass", "spring.weight": "mass",
	"spring.stiffness": "rate", "spring.constant": "rate", "spring.k": "rate", "spring.compression": "preload",
	"spring.length": "free_length", "spring.diameter": "coil_diameter", "spring.wire_diameter": "wire", "spring.turns": "coils",
	"cylinder.diameter": "bore", "cylinder.inner_diameter": "bore", "cylinder.nozzle_diameter": "nozzle",
	"barrel.diameter": "bore", "barrel.inner_diameter": "bore", "barrel.caliber": "bore",
	"pellet.caliber": "diameter", "pellet.hop": "hop_force",
	"trigger.burst": "rounds", "ambient.temp": "temperature",
	"bb": "pellet", "projectile": "pellet", "ammo": "pellet", "magnet": "motor.stator.magnet", "wiring": "harness", "pack": "battery",
	"gear": "gears", "gearbox": "gears", "nozzle": "cylinder.nozzle", "spacers": "pads", "environment": "ambient",
}

// hints say what a figure follows from that has no key, by its path.
var hints = map[string]string{
	"battery.voltage": "the voltage follows from chemistry and series, the cells in a row",
	"battery.energy":  "give the capacity; the voltage follows from chemistry and series",
	"battery.current": "give discharge_rating, the current as a multiple of the capacity",
	"motor.kv":        "it follows from magnets and turns; of a motor from the bench, give voltage and no_load_speed below motor.bench",
	"motor.kt":        "it follows from magnets and turns; of a motor from the bench, give voltage and no_load_speed below motor.bench",
	"motor.rpm":       "it follows from magnets and turns; of a motor from the bench, give voltage and no_load_speed below motor.bench",
	"motor.speed":     "it follows from magnets and turns; of a motor from the bench, give voltage and no_load_speed below motor.bench",
	"motor.torque":    "it follows from magnets and turns; of a motor from the bench, give stall_current below motor.bench",
	"motor.power":     "it follows from the other figures; of a motor from the bench, give its readings below motor.bench",
	"spring.rating":   "the velocity that a spring is sold by says too little; give rate, or wire, coil_diameter and coils",
	"spring.force":    "give rate and preload, from which it follows",
	"cylinder.volume": "it follows from bore and the sector's stroke, and from port where there is one",
	"cylinder.length": "the stroke follows from the sector's teeth; a port's place goes to port",
	"piston.stroke":   "it follows from the sector's module and teeth",
	"pellet.velocity": "it is a result; what is wanted of it goes to target.muzzle_velocity",
	"pellet.energy":   "it is a result; what is wanted of it goes to target.muzzle_energy",
}

// glued says what a value was meant to be that is a key of the mapping with no blank
// behind its colon; "" for any other.
func (s *spec) glued(n *node) string {
	if m := noBlank.FindStringSubmatch(n.text); s.shape == mapping && n.shape == scalar && m != nil && s.find(m[1]) != nil {
		return fmt.Sprintf("no blank behind the colon; wanted %s: %s", m[1], quantity.Printable(m[2], 40))
	}
	return ""
}

// elsewhereFor says where a value goes that the key can't take but another could.
func (s *spec) elsewhereFor(n *node) string {
	if n.shape != scalar {
		return ""
	}
	for _, o := range s.others {
		if _, err := quantity.Parse(n.text, o.kind); err == nil {
			return "; " + o.text
		}
	}
	return ""
}
