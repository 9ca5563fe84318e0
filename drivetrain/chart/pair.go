package chart

import (
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// pair draws one stack above another, each over its own axis, with data areas of
// the same height.
func pair(top, bottom *stack) *Picture {
	const width, height = 19 * vg.Centimeter, 20 * vg.Centimeter
	top.arrange(width)
	bottom.arrange(width)
	return &Picture{width: width, height: height, draw: func(c draw.Canvas) {
		half := (height + top.headerHeight() - bottom.headerHeight()) / 2
		top.draw(draw.Crop(c, 0, 0, height-half, 0))
		bottom.draw(draw.Crop(c, 0, 0, 0, -half))
	}}
}
