package report

import (
	"bufio"
	"io"
	"strconv"

	"ringcraft/internal/rideplan"
)

// LineHeader names the columns of the line of a plan.
const LineHeader = "s_m,t_s,x_m,y_m,heading_deg,movement,pace,bend,angle_deg,lead"

// WriteLine writes the planned line as CSV: metres along it, seconds from A, the place of
// the rider's body in the arena frame, the direction the horse faces along the line
// (anticlockwise positive, 90 is from A to C), the movement's number, the variety of pace,
// bend and lead (left, right or empty) and the sideways angle of the body, unsigned.
func WriteLine(w io.Writer, p *rideplan.Plan) error {
	b := bufio.NewWriter(w)
	b.WriteString(LineHeader + "\n")
	row := make([]byte, 0, 128)
	for _, s := range p.Samples {
		row = row[:0]
		for i, v := range [...]float64{float64(s.M), float64(s.T), s.X, s.Y, s.Heading.Norm().Deg()} {
			row = strconv.AppendFloat(row, noMinusZero(v, i), 'f', 4, 64)
			row = append(row, ',')
		}
		row = strconv.AppendInt(row, int64(s.Movement), 10)
		row = append(row, ',')
		row = append(row, s.Variety...)
		row = append(row, ',')
		row = append(row, s.Bend...)
		row = append(row, ',')
		row = strconv.AppendFloat(row, s.Angle.Deg(), 'f', 2, 64)
		row = append(row, ',')
		row = append(row, s.Lead...)
		row = append(row, '\n')
		b.Write(row)
	}
	return b.Flush() // bufio keeps the first error of any write
}

// noMinusZero keeps values that round to nothing from being written as -0.0000; a heading of
// -180 is written as 180.
func noMinusZero(v float64, column int) float64 {
	if v > -5e-5 && v < 5e-5 {
		return 0
	}
	if column == 4 && v < -179.99995 {
		return 180
	}
	return v
}
