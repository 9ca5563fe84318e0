package main

import (
	"os"
	"testing"
)

// everything tells whether all is looked at, or a part of what repeats itself: as
// drivetrain/internal/effort has it, which stands out of reach.
func everything() bool { return os.Getenv("AMPSTROKE_TESTS") == "all" }

// someOf returns all of many, or about a fourth of them, with the first and the last.
func someOf[T any](many []T) (some []T) {
	if everything() {
		return many
	}
	for i := 0; i < len(many)-1; i += 4 {
		some = append(some, many[i])
	}
	return append(some, many[len(many)-1])
}

// lightDemo is the path of a demo for what has nothing to do with physics: the one in plain
// physics, which costs half as much, and a copy of the demo where everything is looked at.
func lightDemo(t *testing.T) string {
	if everything() {
		return file(t, demoText())
	}
	return plainDemo
}

// stuck are the overrides that hold the pellet for good. The seals' small leak lets the
// piston home after a long flight, a larger one sooner.
func stuck() []string {
	if everything() {
		return []string{"pellet.hop_force=200 N"}
	}
	return []string{"pellet.hop_force=200 N", "cylinder.seal_leak=2 mm2"}
}
