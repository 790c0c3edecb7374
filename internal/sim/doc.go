// Package sim invents rides: it draws a ridden line along a plan with stated faults, says
// what is true of it in the words of the measures, and writes what a recorder with stated
// errors would have written. Everything it makes is invented and labelled "simulated"; it
// serves the demo and the tests. Nothing that estimates anything sees the truth.
//
// Same plan, faults and seed give the same bytes.
package sim
