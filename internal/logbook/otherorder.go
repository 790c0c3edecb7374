package logbook

import (
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
)

// OtherOrder writes the movements of a sheet in another order, for a horse that anticipates:
// fewer things always follow each other or come at one letter, and it compiles without new
// errors. ok is false where none was found; reasons say why, or what it changes.
func OtherOrder(file, text string) (other string, reasons []string, ok bool) {
	f := sheet.Parse(file, []byte(text))
	o := rideplan.Options{File: file}
	if sheet.HasErrors(rideplan.Compile(f, o).Problems) {
		return "", []string{"no other order: mend the errors of the sheet first"}, false
	}
	r, ok := rideplan.Reorder(f, o)
	if !ok {
		return "", []string{"no other order was found: none of the stretches that may change places breaks a habit"}, false
	}
	for i, h := range r.File.Headers {
		if h.Key == "name" {
			r.File.Headers[i].Value = h.Value + ", in another order"
		}
	}
	return sheet.Print(r.File), r.Reasons, true
}
