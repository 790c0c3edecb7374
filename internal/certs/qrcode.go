package certs

import (
	"fmt"
	"strings"

	goqr "github.com/piglig/go-qr"
)

// quiet is the margin a scanner needs, in modules (ISO/IEC 18004 asks for 4).
const quiet = 4

// QRTerminal draws text as a QR code for a terminal, two modules a character, dark on light
// whatever the terminal's colours are.
func QRTerminal(text string) (string, error) {
	q, err := goqr.EncodeText(text, goqr.Medium)
	if err != nil {
		return "", fmt.Errorf("QR code: %w", err)
	}
	half := map[[2]bool]string{{true, true}: " ", {true, false}: "▄", {false, true}: "▀", {false, false}: "█"}
	var b strings.Builder
	for y := -quiet; y < q.Size()+quiet; y += 2 {
		b.WriteString("\x1b[97;40m") // light blocks on a dark ground, so a light block is "white"
		for x := -quiet; x < q.Size()+quiet; x++ {
			b.WriteString(half[[2]bool{q.Module(x, y), q.Module(x, y+1)}])
		}
		b.WriteString("\x1b[0m\n")
	}
	return b.String(), nil
}

// QRSVG draws text as a QR code for a page: one path, black on white, with a title for readers.
func QRSVG(text string) (string, error) {
	q, err := goqr.EncodeText(text, goqr.Medium)
	if err != nil {
		return "", fmt.Errorf("QR code: %w", err)
	}
	side := q.Size() + 2*quiet
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" role="img" aria-label="QR code of the pairing address" shape-rendering="crispEdges"><rect width="%d" height="%d" fill="#fff"/><path fill="#000" d="`, side, side, side, side)
	for y := range q.Size() {
		for x := range q.Size() {
			if q.Module(x, y) {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x+quiet, y+quiet)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return b.String(), nil
}
