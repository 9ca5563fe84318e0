// Package heat says how hot the parts of a build get over a firing plan.
package heat
