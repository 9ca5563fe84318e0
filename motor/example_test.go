package motor_test

import (
	"fmt"
	"math"

	"example.org/ampstroke/motor"
)

// A motor by its winding, with what is commonly assumed where nothing was measured.
func ExampleNew() {
	grade, _ := motor.FindGrade("N42SH")
	rotor := motor.NewArmature(3, 22, 0.75e-3)
	rotor.RotorDiameter, rotor.StackLength, rotor.SlotOpening, rotor.ToothWidth = 15.2e-3, 22e-3, 2e-3, 4.4e-3
	rotor.MeanTurn, rotor.Inertia = 76e-3, 12e-7
	m := motor.New(motor.NewStator(grade.Magnet(2e-3, 2), 0.4e-3), rotor)
	if err := m.Validate(); err != nil {
		fmt.Println(err)
		return
	}
	c := m.At(293.15, 293.15)
	h := c.Characteristic(7.4)
	fmt.Printf("%.0f rpm without load, best %.0f %%\n", h.NoLoad.Speed*30/math.Pi, 100*h.Best.Efficiency)
	// Output:
	// 19194 rpm without load, best 74 %

}

// A motor of which nobody knows the winding, by what a bench says.
func ExampleFromBench() {
	m := motor.FromBench(motor.NewBench(7.4, 21000*math.Pi/30, 1.5, 90, 12e-7))
	if err := m.Validate(); err != nil {
		fmt.Println(err)
		return
	}
	c := m.At(293.15, 293.15)
	fmt.Printf("Ke %.2f mV·s, R %.1f mΩ\n", 1e3*c.Ke, 1e3*c.Resistance)
	// Output:
	// Ke 3.17 mV·s, R 78.9 mΩ

}
