// Package stiff integrates stiff systems of ordinary differential equations
//
//	dy/dt = f(t, y)
//
// with a sparse Jacobian, by the linearly implicit method RODAS5P: eight stages,
// order 5 with an embedded order 4 for error control, L-stable, stiffly
// accurate, one factorisation of I/(h gamma) - J per step tried, and a
// continuous solution of order 4 inside each step. Its errors fall with order 4
// even where fast modes follow a slow solution with steps near their own time
// constants, as small volumes do between large ones in a pull-down; RODAS
// of order 4, without that property, took twice the steps there. Source of the
// method and of its coefficients: G. Steinebach, BIT Numerical Mathematics 63
// (2023) 27; of the family: E. Hairer and G. Wanner, Solving Ordinary
// Differential Equations II, 2nd ed., Springer 1996, section IV.7.
//
// Time and work per step grow linearly with the number of variables when the
// variables are coupled like a tree or a graph with few loops. Nothing is
// allocated after New, except error values.
//
// Linear invariants are kept: where fixed weights c give c.f = 0 and c.J = 0,
// the sum c.y changes by round-off only, and so does it in the continuous
// solution. Round-off here is that of the gross exchange during a step: about
// 1e-16 times the largest c*h*J*dy.
//
// Left out: mass matrices, implicit equations, step sizes below zero, and
// events. A caller finds an event in the continuous solution of the step just
// taken (At, Interpolate) and restarts from there (Reset).
package stiff
