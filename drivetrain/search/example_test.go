package search_test

import (
	"context"
	"fmt"
	"log"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/search"
)

// A shelf in code, ranked by a figure of one's own: the muzzle energy for each coulomb
// that a shot takes from the pack.
func ExampleRun() {
	base, err := buildfile.DemoDocument()
	if err != nil {
		log.Fatal(err)
	}
	shelf := &buildfile.Shelf{Base: base, Wish: "{rate_of_fire: {min: 15 /s}}", Slots: []buildfile.Slot{
		{Key: "motor.armature", Parts: []buildfile.Part{
			{Name: "as it stands", Value: buildfile.AsInBase},
			{Name: "22 turns", Value: "{turns: 22, wire: 0.75 mm}", Price: 1450},
		}},
		{Key: "gears.ratio", Parts: []buildfile.Part{
			{Name: "13 to 1", Value: "13", Price: 900}, {Name: "16 to 1", Value: "16", Price: 1100}, {Name: "18 to 1", Value: "18", Price: 1150},
		}},
	}}
	asked := []string{"muzzle_energy", "charge_per_shot"}
	energyPerCharge := func(f *search.Found) float64 { return -f.Values[1] / f.Values[2] } // behind the target's one
	best := search.Best{Most: 2, Score: energyPerCharge}
	for f, err := range search.Run(context.Background(), shelf, search.Settings{Figures: asked}) {
		if err != nil {
			log.Fatal(err)
		}
		if f.Sound {
			best.Add(&f)
		}
	}
	for _, f := range best.List() {
		var names []string
		for slot, part := range f.Parts {
			names = append(names, shelf.Slots[slot].Parts[part].Name)
		}
		fmt.Printf("%d.%02d: %.2f J/C, %s\n", f.Price/100, f.Price%100, -energyPerCharge(&f), strings.Join(names, ", "))
	}
	// Output:
	// 23.50: 2.10 J/C, 22 turns, 13 to 1
	// 25.50: 2.10 J/C, 22 turns, 16 to 1
}
