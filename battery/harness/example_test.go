package harness_test

import (
	"fmt"

	"example.org/ampstroke/battery/harness"
)

// A switch is a MOSFET or a pair of contacts.
func ExampleSwitch() {
	contacts, mosfet := harness.NewContacts("silver", 1), harness.NewMOSFET(2e-3)
	for _, s := range []harness.Switch{{Contacts: &contacts}, {MOSFET: &mosfet}} {
		if err := s.Validate(); err != nil {
			fmt.Println(err)
			return
		}
		h := harness.Harness{Lead: harness.NewLead(1.3e-6, 0.6), Switch: s}
		fmt.Printf("%.2f mΩ\n", 1e3*h.At(harness.Temperatures{Lead: 293.15, Switch: 293.15}).Total())
	}
	// Output:
	// 8.30 mΩ
	// 9.91 mΩ

}
