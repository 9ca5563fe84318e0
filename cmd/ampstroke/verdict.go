package main

import (
	"fmt"
	"io"
	"strings"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/study"
)

// printFindings says, below a title, whether the target is met and all that there is to
// say of a build; each line begins with start. Verdicts that are nil were not asked for.
func printFindings(w io.Writer, start string, verdicts []cycle.Verdict, all finding.List) {
	if verdicts == nil && len(all) == 0 {
		return
	}
	fmt.Fprintln(w)
	say := func(head, text string) {
		fmt.Fprintln(w, wrap(start+head, text, screen, start+"  "))
	}
	if verdicts != nil {
		say(targetLine(verdicts, all.Broken()))
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

// targetLine says whether a target is met, and by how much it is missed. A figure that
// a build lacks is missed if the build is at fault, and else one of another mode of fire.
func targetLine(verdicts []cycle.Verdict, fault bool) (head, text string) {
	if len(verdicts) == 0 {
		return "no target: ", "the build file asks for no figure"
	}
	var met, missed, none []string
	for _, v := range verdicts {
		f, _ := cycle.FindFigure(v.Figure)
		name := strings.ReplaceAll(v.Figure, "_", " ")
		switch v.Outcome {
		case cycle.Met:
			met = append(met, name+" "+study.Shown(f.Kind, v.Value))
		case cycle.Missed:
			missed = append(missed, name+", "+study.Missed(&v))
		case cycle.NoFigure:
			if fault {
				missed = append(missed, name+", which this build doesn't have")
			} else {
				none = append(none, name)
			}
		}
	}
	part := func(what string, all []string) {
		if len(all) == 0 {
			return
		}
		if text != "" {
			text += "; "
		}
		text += what + strings.Join(all, ", ")
	}
	switch {
	case len(missed) > 0:
		head = "target MISSED: "
		text = strings.Join(missed, "; ")
		part("met: ", met)
	case len(met) > 0:
		head = "target met: "
		part("", met)
	default:
		head = "target not judged: "
	}
	part("not a figure of this mode of fire: ", none)
	return head, text
}

// fails tells whether --strict finds fault: a fault of the build, or a want that is
// missed.
func fails(verdicts []cycle.Verdict, all finding.List) bool {
	for _, v := range verdicts {
		if v.Outcome == cycle.Missed {
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
