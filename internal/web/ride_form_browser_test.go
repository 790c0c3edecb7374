package web

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestRefusedFormKeepsItsFiles: one wrong mark refuses the ride, and the files are still
// chosen; mended, the same form is taken.
func TestRefusedFormKeepsItsFiles(t *testing.T) {
	b, r := shortRide(t)
	c, srv := tab(t, site(t, b), 390)
	dir := t.TempDir()
	bad, good := filepath.Join(dir, "bad.csv"), filepath.Join(dir, "good.csv")
	write := func(name, text string) {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(bad, "movement,judge,mark,remark\n1,C,7.3,\n")
	write(good, "movement,judge,mark,remark\n1,C,7.0,\n")
	do(t, c, chromedp.Navigate(srv.URL+"/combinations/"+r.CombinationID+"/rides/new"), chromedp.WaitVisible("#marks"),
		chromedp.SetUploadFiles("#marks", []string{bad}), chromedp.Click(`form[data-keep-files] button:not([type=button])`))
	until(t, c, `document.querySelector(".formfault")?.textContent.includes("7.3")`)
	if n := ask[int](t, c, `document.querySelector("#marks").files.length`); n != 1 {
		t.Errorf("%d files are still chosen, want 1", n)
	}
	do(t, c, chromedp.SetUploadFiles("#marks", []string{good}), chromedp.Click(`form[data-keep-files] button:not([type=button])`), chromedp.WaitVisible(".score"))
}
