package main

import (
	"fmt"
	"io"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/study"
)

// printFindings says, below a title, what there is to say of a build; each line begins
// with start. The first ones are those of targets, in pairs of head and text.
func printFindings(w io.Writer, start string, all finding.List, targets ...[2]string) {
	if len(targets) == 0 && len(all) == 0 {
		return
	}
	fmt.Fprintln(w)
	say := func(head, text string) {
		fmt.Fprintln(w, wrap(start+head, text, screen, start+"  "))
	}
	for _, t := range targets {
		say(t[0], t[1])
	}
	for _, f := range all {
		switch {
		case f.Code == "target": // said above
		case f.Weight == finding.Fault:
			say("FAULT: ", f.Text+" ["+f.Code+"]")
		case f.Weight == finding.Caution:
			say("caution: ", f.Text+" ["+f.Code+"]")
		default:
			say("not checked: ", f.Text)
		}
	}
}

// targetLine says whether a build meets a target, and by how much it is missed: head
// and text of a line.
func targetLine(b *drivetrain.Build, verdicts []figure.Verdict) [2]string {
	head, text := study.Told(b, verdicts)
	return [2]string{head + ": ", text}
}

// fails tells whether --strict finds fault: a fault of the build, or a want that is
// missed.
func fails(verdicts []figure.Verdict, all finding.List) bool {
	for _, v := range verdicts {
		if v.Fate == figure.Missed {
			return true
		}
	}
	return all.Broken()
}

// findingsJSON gives findings to programs.
func findingsJSON(all finding.List) []object {
	list := []object{}
	for _, f := range all {
		list = append(list, object{{"code", f.Code}, {"weight", string(f.Weight)}, {"text", f.Text}, {"keys", append([]string{}, f.Keys...)}})
	}
	return list
}

// warningsJSON gives what one room has said of a build to programs.
func warningsJSON(all []finding.Finding) []object {
	list := []object{}
	for _, f := range all {
		list = append(list, object{{"code", f.Code}, {"text", f.Text}})
	}
	return list
}

// cautions stand below every result that people read.
func cautions() []string { return study.Cautions() }
