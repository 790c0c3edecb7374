package main

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"ringcraft/internal/logbook"
)

// visitor is a browser with cookies.
type visitor struct {
	t    *testing.T
	http http.Client
	base string
}

func newVisitor(t *testing.T, base string) *visitor {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &visitor{t: t, base: base, http: http.Client{Jar: jar, Timeout: patience}}
}

// post sends a form and returns the page it led to.
func (v *visitor) post(path string, form url.Values) string {
	v.t.Helper()
	resp, err := v.http.PostForm(v.base+path, form)
	if err != nil {
		v.t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		v.t.Fatal(err)
	}
	return string(b)
}

func (v *visitor) get(path string) (int, string) {
	v.t.Helper()
	resp, err := v.http.Get(v.base + path)
	if err != nil {
		v.t.Fatal(err)
	}
	defer resp.Body.Close()
	b, _ := io.ReadAll(resp.Body)
	return resp.StatusCode, string(b)
}

func (v *visitor) cookie() string {
	u, _ := url.Parse(v.base)
	for _, c := range v.http.Jar.Cookies(u) {
		return c.Value
	}
	return ""
}

// TestNothingSecretInAnySession runs a whole session against the real server, wrong tries and
// faults included, and looks through all it wrote for secrets, names and what was said of people.
func TestNothingSecretInAnySession(t *testing.T) {
	dir := t.TempDir()
	fillStore(t, dir)
	if out, err := childSetPassword(dir).CombinedOutput(); err != nil || strings.Contains(string(out), "rain on the roof") {
		t.Fatalf("%v %s", err, out)
	}
	for _, form := range []string{"json", "text"} {
		c := startChild(t, true, nil, "serve", "--data", dir, "--listen", "127.0.0.1:0", "--login", "--log", form)
		secrets := map[string]string{"password": "rain on the roof", "wrong password": "snow on the roof", "rider": "Ida", "horse": "Tarn"}
		trainer := newVisitor(t, c.url)
		trainer.post("/sign-in", url.Values{"name": {"trainer"}, "password": {"snow on the roof"}})
		trainer.post("/sign-in", url.Values{"name": {"nobody-" + form}, "password": {"rain on the roof"}})
		trainer.post("/sign-in", url.Values{"name": {"trainer"}, "password": {"rain on the roof"}})
		secrets["session"] = trainer.cookie()
		page := trainer.post("/devices/pair", url.Values{"name": {"Beatrix-" + form}, "role": {"scribe"}})
		secrets["name of a person"] = "Beatrix-" + form
		secrets["code"] = regexp.MustCompile(`[0-9A-Z]{4}-[0-9A-Z]{4}`).FindString(page)
		link := regexp.MustCompile(`/guest/([\w-]{43})`).FindStringSubmatch(trainer.post("/links", url.Values{"ride": {"ride"}, "note": {"the owner"}}))
		if len(link) == 2 {
			secrets["link"] = link[1]
		}
		scribe, guest := newVisitor(t, c.url), newVisitor(t, c.url)
		scribe.get("/pair?code=" + secrets["code"])
		scribe.post("/pair", url.Values{"code": {secrets["code"]}, "device": {"Beatrix's own phone"}})
		scribe.post("/pair", url.Values{"code": {secrets["code"]}})
		secrets["scribe's session"], secrets["device"] = scribe.cookie(), "own phone"
		guest.get("/guest/" + secrets["link"])
		guest.get("/guest/" + strings.Repeat("A", 43))
		secrets["guest's session"] = guest.cookie()
		secrets["note"] = "limping behind " + form
		body, _ := json.Marshal(map[string]any{"notes": []logbook.Note{{ID: "n" + form, RideID: "ride", Device: "d" + form, Seq: 1, Kind: logbook.NoteRemark, Text: secrets["note"]}}})
		if resp, err := scribe.http.Post(c.url+"/rides/ride/notes", "application/json", strings.NewReader(string(body))); err != nil || resp.StatusCode != http.StatusOK {
			t.Errorf("note: %v %v", resp, err)
		}
		trainer.get("/riders/r/stored.zip")
		trainer.get("/rides/no such ride/report.pdf?name=Ida")
		trainer.post("/riders/r/consent", url.Values{"what": {"ride"}, "given_by": {"Jonathan the father"}})
		secrets["who agreed"] = "Jonathan"
		trainer.post("/sign-out", url.Values{})
		c.cmd.Process.Signal(syscall.SIGTERM)
		if err := c.cmd.Wait(); err != nil {
			t.Errorf("%v", err)
		}
		log := c.logs.String()
		for what, secret := range secrets {
			if secret == "" {
				t.Errorf("the session had no %s: this test shows nothing", what)
			} else if strings.Contains(log, secret) || strings.Contains(log, url.QueryEscape(secret)) || strings.Contains(log, url.PathEscape(secret)) {
				t.Errorf("the %s log holds the %s %q:\n%s", form, what, secret, log)
			}
		}
		if n := strings.Count(log, "POST /pair"); n < 2 || !strings.Contains(log, "sign-in refused") {
			t.Errorf("the log tells too little: %s", log)
		}
	}
}

// TestRestoreKeepsTheMachines: a restore brings back the records and leaves what belongs to the
// machine: its certificates and its settings.
func TestRestoreKeepsTheMachines(t *testing.T) {
	dir, file := t.TempDir(), filepath.Join(t.TempDir(), "b.tar")
	fillStore(t, dir)
	const set = `{"transcriber": ["hear", "{audio}"], "backup_days": 3}`
	if err := os.WriteFile(filepath.Join(dir, settingsName), []byte(set), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"backup", "--data", dir, file}, {"remove", "--data", dir, "--rider", "ida", "--yes"}, {"restore", "--data", dir, file}} {
		if out, err := exec.Command("ringcraft", args...).CombinedOutput(); err != nil {
			t.Fatalf("%v: %v %s", args, err, out)
		}
	}
	if b, err := os.ReadFile(filepath.Join(dir, settingsName)); err != nil || string(b) != set {
		t.Errorf("settings after the restore: %s %v", b, err)
	}
	s, err := openData(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if r, err := s.db.Rider(context.Background(), "r"); err != nil || r.Name != "Ida" {
		t.Errorf("%+v %v", r, err)
	}
}

// TestStopDuringBackup stops the server as soon as it serves, while the day's backup is being made:
// nothing half is left.
func TestStopDuringBackup(t *testing.T) {
	dir := t.TempDir()
	fillStore(t, dir)
	if err := os.Remove(filepath.Join(dir, settingsName)); err != nil {
		t.Fatal(err)
	}
	for range 5 {
		c := serveChild(t, dir, true)
		c.cmd.Process.Signal(syscall.SIGTERM)
		if err := c.cmd.Wait(); err != nil {
			t.Fatalf("%v %s", err, c.logs)
		}
		if left, _ := filepath.Glob(filepath.Join(dir, backupsName, ".*")); len(left) > 0 {
			t.Errorf("left: %v\n%s", left, c.logs)
		}
		os.RemoveAll(filepath.Join(dir, backupsName))
	}
}
