package heat_test

import (
	"context"
	"fmt"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/motor/wire"
)

// A long afternoon on leads that are too thin.
func Example() {
	d, err := buildfile.DemoDocument("harness.lead={gauge: 24 AWG, length: 600 mm}")
	if err != nil {
		fmt.Println(err)
		return
	}
	plan := &heat.Plan{Name: "Afternoon", Repeat: 1, Steps: []heat.Step{{Rounds: 200, Pause: 5, Repeat: 5, FreshPack: true}}}
	r, err := heat.Simulate(context.Background(), d.Build, plan, heat.Settings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	p := r.Part(r.FirstOut)
	fmt.Printf("%s: %.0f °C after %.0f s, in round %.0f\n", p.Name, p.Limit-273.15, p.LimitAt, p.RoundsToLimit)
	// Output: leads: 70 °C after 8 s, in round 145
}

// A heat sink on the motor is a node more and two paths.
func ExampleNetwork() {
	var n heat.Network
	winding, can := n.Add("winding", 12), n.Add("can", 55)
	n.Connect(winding, can, 3.5)
	n.Connect(can, heat.Surroundings, 15)
	for _, name := range []string{"without", "with"} {
		if name == "with" {
			sink := n.Add("sink", 40)
			n.Connect(can, sink, 0.5)
			n.Connect(sink, heat.Surroundings, 4)
		}
		rise, power := make([]float64, len(n.Nodes)), make([]float64, len(n.Nodes))
		power[winding] = 8
		if _, err := n.Advance(rise, power, 4*3600); err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s a sink: winding %.0f K, can %.0f K above\n", name, rise[winding], rise[can])
	}
	// Output:
	// without a sink: winding 148 K, can 120 K above
	// with a sink: winding 56 K, can 28 K above
}

func ExampleCable() {
	l := harness.NewLead(wire.Area(wire.Diameter(18)), 0.6)
	c := heat.NewCable(&l, drivetrain.StandardAmbient())
	rise, _ := c.SteadyRise(15)
	fmt.Printf("15 A for good: %.0f K above; its limit carries %.0f A\n", rise, c.SteadyCurrent(l.Limit-c.Ambient))
	// Output: 15 A for good: 38 K above; its limit carries 17 A
}
