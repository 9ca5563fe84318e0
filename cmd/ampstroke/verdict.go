package main

import (
	"fmt"
	"io"
	"strings"

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
	if len(verdicts) == 0 {
		return [2]string{"no target: ", "the build file asks for no figure"}
	}
	var met, missed, none []string
	for _, v := range verdicts {
		f, _ := study.FindFigure(v.Figure)
		name := strings.ReplaceAll(v.Figure, "_", " ")
		switch {
		case v.Fate == figure.Met:
			met = append(met, name+" "+study.Shown(f.Kind, v.Value))
		case v.Fate == figure.Missed:
			missed = append(missed, name+", "+study.Missed(&v))
		case study.NotJudged(b, &v):
			none = append(none, name)
		default:
			missed = append(missed, name+", which this build doesn't come to")
		}
	}
	var parts []string
	part := func(what string, all []string, between string) {
		if len(all) > 0 {
			parts = append(parts, what+strings.Join(all, between))
		}
	}
	head := "target not judged: "
	part("", missed, "; ")
	switch {
	case len(missed) > 0:
		head = "target MISSED: "
		part("met: ", met, ", ")
	case len(met) > 0:
		head = "target met: "
		part("", met, ", ")
	}
	part("single fire has no ", none, ", no ")
	return [2]string{head, strings.Join(parts, "; ")}
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
