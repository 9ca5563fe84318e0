package heat

import "example.org/ampstroke/drivetrain/cycle"

func warnings(r *Result, m *model) []cycle.Warning { return nil }
