package main

import (
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/motor"
)

// cycleFigures lists what is shown of a cycle: its figures, and ahead of those of the
// motor the constants that people know a motor by.
func cycleFigures() figure.List[*cycle.Result] {
	constants := figure.From(motor.Figures(), func(r *cycle.Result) *motor.Supplied { return &motor.Supplied{Constants: r.Motor} })
	var all figure.List[*cycle.Result]
	for _, f := range cycle.Figures() {
		if f.Group == "motor" && !all.Has("motor") {
			for _, name := range []string{"ke", "resistance", "inductance", "slot_fill"} {
				c, _ := constants.Find(name)
				c.Group = f.Group
				all = append(all, c)
			}
		}
		all = append(all, f)
	}
	return all
}

// rowOf is a figure of a result as a line of a table, empty where it is not shown.
func rowOf[R any](f *figure.Of[R], r R) row {
	if f.Quiet {
		return row{}
	}
	return row{f.Label, f.Shown(r), f.Remark(r)}
}

// printFigures prints the figures of a result below their headings.
func printFigures[R any](print func(heading string, rows []row), l figure.List[R], r R) {
	for _, group := range l.Groups() {
		var rows []row
		for _, f := range l.In(group) {
			rows = append(rows, rowOf(&f, r))
		}
		print(group, rows)
	}
}

// figuresJSON are the figures of a result as members of an object.
func figuresJSON[R any](l figure.List[R], r R) (o object) {
	for i := range l {
		o = append(o, member{l[i].Key(), number(l[i].Value(r))})
	}
	return o
}
