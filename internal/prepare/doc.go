// Package prepare turns a diagnosis into what to ride next: exercises in the sheet language,
// a lesson inside a time budget, homework for the rider, and the plan of a show day. Limits
// that protect horse and rider are enforced; everything else is a default with a reason.
package prepare

// Version names the results of planning.
const Version = 1
