package track

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"testing"

	"ringcraft/internal/testkit"
)

func rideCSV(n int, hz float64) []byte {
	rng := rand.New(rand.NewPCG(1, 1))
	var b bytes.Buffer
	b.WriteString("t_s,x_m,y_m\n")
	for i, p := range circlePoints(10, 3.2, hz, float64(n)/hz) {
		fmt.Fprintf(&b, "%.3f,%.3f,%.3f\n", float64(i)/hz, p.X+0.1*rng.NormFloat64(), p.Y+0.1*rng.NormFloat64())
	}
	return b.Bytes()
}

func motionCSV(n int, hz float64) []byte {
	rng := rand.New(rand.NewPCG(1, 1))
	var b bytes.Buffer
	b.WriteString("t_s,acc_x,acc_y,acc_z,gyro_x,gyro_y,gyro_z\n")
	for i := range n {
		fmt.Fprintf(&b, "%.3f,%.4f,%.4f,%.4f,%.4f,%.4f,%.4f\n", float64(i)/hz, rng.NormFloat64(), rng.NormFloat64(), 9.81+rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64())
	}
	return b.Bytes()
}

func benchImport(b *testing.B, data []byte) {
	b.ReportAllocs()
	b.SetBytes(int64(len(data)))
	cpu := testkit.CPUTime(b)
	for b.Loop() {
		if _, err := Import(bytes.NewReader(data), ImportOptions{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric((testkit.CPUTime(b)-cpu).Seconds()*1000/float64(b.N), "cpu-ms/op")
}

func BenchmarkImportCSV6min10Hz(b *testing.B) { benchImport(b, rideCSV(3600, 10)) }
func BenchmarkImportCSV1h10Hz(b *testing.B)   { benchImport(b, rideCSV(36000, 10)) }
func BenchmarkImportMotion6min(b *testing.B)  { benchImport(b, motionCSV(36000, 100)) }
func BenchmarkImportMotion1h(b *testing.B)    { benchImport(b, motionCSV(360000, 100)) }
func BenchmarkImportGPX1h10Hz(b *testing.B) {
	var p bytes.Buffer
	for i := range 36000 {
		fmt.Fprintf(&p, `<trkpt lat="52.%06d" lon="5.1"><ele>3</ele><time>2026-05-02T%02d:%02d:%02d.%dZ</time></trkpt>`+"\n", i, 9+i/36000, i/600%60, i/10%60, i%10)
	}
	benchImport(b, []byte(gpxText(p.String())))
}
func BenchmarkImportFIT1h(b *testing.B) { benchImport(b, fitBytes(b, 3600)) }

func BenchmarkImportAndSmooth6min10Hz(b *testing.B) { benchSmoothed(b, 3600) }
func BenchmarkImportAndSmooth1h10Hz(b *testing.B)   { benchSmoothed(b, 36000) }

func benchSmoothed(b *testing.B, n int) {
	data := rideCSV(n, 10)
	b.ReportAllocs()
	cpu := testkit.CPUTime(b)
	for b.Loop() {
		t, err := Import(bytes.NewReader(data), ImportOptions{})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := Smooth(t, NoiseFor(ClassUWB, t), SmoothOptions{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric((testkit.CPUTime(b)-cpu).Seconds()*1000/float64(b.N), "cpu-ms/op")
}
