package draw

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"image"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ringcraft/internal/testkit"
)

var update = flag.Bool("update", false, "write the golden files anew; read them before you keep them")

func render(t *testing.T, s *Scene) (svg, pdf, bitmap []byte) {
	t.Helper()
	var a, b, c bytes.Buffer
	for _, err := range []error{s.SVG(&a), s.PDF(&b), s.PNG(&c, 600)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	return a.Bytes(), b.Bytes(), c.Bytes()
}

func TestSameBytes(t *testing.T) {
	for name, make := range map[string]func() *Scene{
		"plan":  func() *Scene { return Plan(willow(), Options{Legend: true, Title: "Ηλίας и Ольга"}) },
		"strip": func() *Scene { return Strip(willow(), StripOptions{}) },
	} {
		a1, b1, c1 := render(t, make())
		a2, b2, c2 := render(t, make())
		if !bytes.Equal(a1, a2) || !bytes.Equal(b1, b2) || !bytes.Equal(c1, c2) {
			t.Errorf("%s: two renderings of the same plan differ", name)
		}
	}
}

func TestGolden(t *testing.T) {
	p := willow()
	for name, s := range map[string]*Scene{
		"movement3.svg": Plan(p, Options{Movement: 3, Width: 60, Legend: true}),
		"strip.svg":     Strip(p, StripOptions{Width: 120}),
		"legend.svg":    Legend(150),
	} {
		var got bytes.Buffer
		if err := s.SVG(&got); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join("testdata", name)
		if name == "legend.svg" { // the picture in docs/LOOK.md is this very drawing
			file = filepath.Join(testkit.Root(t), "docs", "legend.svg")
		}
		if *update {
			if err := os.WriteFile(file, got.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(string(want), got.String()); d != "" {
			t.Errorf("%s (-want +got):\n%s", name, d)
		}
	}
}

// Any name must give well-formed XML whose text is the name as given.
func TestSVGSurvivesAnyName(t *testing.T) {
	for _, name := range []string{`<script>alert(1)</script>`, `a & b "c" 'd'`, "Ærø \x00\x01 tail", "\xff\xfe broken", "Žofie\tŁ\nx", "馬場馬術"} {
		p := willow()
		p.Name = name
		p.Movements[0].Reading = name
		var b bytes.Buffer
		if err := Plan(p, Options{Title: name, Legend: true}).SVG(&b); err != nil {
			t.Fatal(err)
		}
		d := xml.NewDecoder(bytes.NewReader(b.Bytes()))
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%q: %v", name, err)
			}
			if e, ok := tok.(xml.StartElement); ok && (e.Name.Local == "script" || e.Name.Local == "style") {
				t.Errorf("%q became an element %s", name, e.Name.Local)
			}
		}
	}
}

// A drawing refers to nothing outside itself.
func TestSVGIsSelfContained(t *testing.T) {
	svg, _, _ := render(t, Plan(willow(), Options{Legend: true}))
	s := strings.Replace(string(svg), `xmlns="http://www.w3.org/2000/svg"`, "", 1)
	for _, bad := range []string{"http:", "https:", "href", "url(", "style=", "<script"} {
		if strings.Contains(s, bad) {
			t.Errorf("drawing contains %q", bad)
		}
	}
}

func TestPDFText(t *testing.T) {
	tool := testkit.Program(t, "pdf", "pdftotext")
	p := willow()
	_, pdf, _ := render(t, Plan(p, Options{Title: "Zoë, Ηλίας, Ольга", Legend: true}))
	file := filepath.Join(t.TempDir(), "a.pdf")
	if err := os.WriteFile(file, pdf, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-layout", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Zoë, Ηλίας, Ольга", "collected trot", "free walk", "working canter", "rein-back", "body, dot at the poll"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("the PDF's text lacks %q:\n%s", want, out)
		}
	}
}

// The PDF as an independent renderer (poppler) paints it and our own PNG must look the same.
func TestPDFAndPNGAgree(t *testing.T) {
	tool := testkit.Program(t, "pdf", "pdftoppm")
	s := Plan(willow(), Options{Width: 100})
	var pdf, own bytes.Buffer
	if err := s.PDF(&pdf); err != nil {
		t.Fatal(err)
	}
	if err := s.PNG(&own, 600); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "a.pdf"), pdf.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(tool, "-png", "-singlefile", "-scale-to-x", "600", "-scale-to-y", "-1", filepath.Join(dir, "a.pdf"), filepath.Join(dir, "a")).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	ref, err := os.ReadFile(filepath.Join(dir, "a.png"))
	if err != nil {
		t.Fatal(err)
	}
	agree(t, decode(t, own.Bytes()), decode(t, ref))
}

// The SVG as a browser paints it and our own PNG must look the same; letters are set in
// another typeface there, which is what the tolerance of the pixels is for.
func TestSVGAndPNGAgree(t *testing.T) {
	browser := testkit.Browser(t)
	s := Plan(willow(), Options{Width: 100, NoNumbers: true})
	const width = 600
	height := int(s.H / s.W * width)
	dir := t.TempDir()
	var page, own bytes.Buffer
	page.WriteString("<!doctype html><style>body{margin:0}svg{display:block;width:600px;height:auto}</style>")
	for _, err := range []error{s.SVG(&page), s.PNG(&own, width)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "a.html"), page.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--hide-scrollbars", "--user-data-dir="+filepath.Join(dir, "profile"),
		fmt.Sprintf("--window-size=%d,%d", width, height), "--screenshot="+filepath.Join(dir, "a.png"), "file://"+filepath.Join(dir, "a.html"))
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	ref, err := os.ReadFile(filepath.Join(dir, "a.png"))
	if err != nil {
		t.Fatal(err)
	}
	agree(t, decode(t, own.Bytes()), decode(t, ref))
}

// agree compares the ink of two pictures and counts pixels that differ by more than half.
func agree(t *testing.T, a, b image.Image) {
	t.Helper()
	w, h := min(a.Bounds().Dx(), b.Bounds().Dx()), min(a.Bounds().Dy(), b.Bounds().Dy())
	inkA, inkB, far := 0.0, 0.0, 0
	for y := 0; y < h; y++ {
		for x := 0; x < w; x++ {
			da, db := darkness(a, x, y), darkness(b, x, y)
			inkA, inkB = inkA+da, inkB+db
			if da-db > 0.5 || db-da > 0.5 {
				far++
			}
		}
	}
	if r := inkA / inkB; r < 0.95 || r > 1.05 {
		t.Errorf("our PNG has %.3f of the ink of the other", r)
	}
	if share := float64(far) / float64(w*h); share > 0.004 {
		t.Errorf("%.2f %% of the pixels differ by more than half", 100*share)
	}
}

func decode(t *testing.T, b []byte) image.Image {
	t.Helper()
	m, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func darkness(m image.Image, x, y int) float64 {
	r, g, b, _ := m.At(x, y).RGBA()
	return 1 - float64(r+g+b)/(3*65535)
}
