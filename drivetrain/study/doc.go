// Package study looks at a build from all sides at once, so that whoever asks, and by
// which command, is told the same.
//
// [Examine] fires a build as its trigger says, in automatic and in single, looks at
// how sector and rack meet, holds the figures against the target, and collects all
// [finding.Finding]s that are cheap to know: what the rooms below say of engagement,
// stall, motor, pack, fuse, spring, pull, contact and tooth strength, what looks
// implausible, and what can't be looked at since a value is missing. [Examination.With]
// adds those of a firing plan.
//
// An [Evaluator] asks one build after the other for figures by name, [Map] does such work
// on all cores, and a [Sweep] does it for every combination of some keys' values.
package study
