//go:build linux

package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/net/dns/dnsmessage"
	"golang.org/x/net/ipv4"

	"ringcraft/internal/logbook"
	"ringcraft/internal/testkit"
)

// errand is what the phone of this test is sent to do; each line it reads is one.
type errand struct {
	Address string // its own address on the yard's network, with its width
	Name    string // the server's name
	Code    string // pairing code; "" when it was paired before
	Note    string // id of a note to send
}

// phone is another host: a process with a network of its own, at the other end of a cable. It is
// started by TestFromAnotherHost as a command of the test binary and has nothing but that network.
type phone struct {
	ca     *x509.CertPool
	cookie *http.Cookie
}

func init() { otherHost = phoneMain }

// phoneMain reads errands and answers each with what it saw.
func phoneMain() {
	p := &phone{}
	in := bufio.NewScanner(os.Stdin)
	for in.Scan() {
		var e errand
		if err := json.Unmarshal(in.Bytes(), &e); err != nil {
			fmt.Println(`{"errand":"unreadable"}`)
			continue
		}
		b, _ := json.Marshal(p.run(e))
		fmt.Printf("%s\n", b)
	}
}

func (p *phone) run(e errand) map[string]string {
	saw := map[string]string{}
	for _, args := range []string{"link set lo up", "link set phone0 up", "addr flush dev phone0", "addr add " + e.Address + " dev phone0"} {
		if out, err := exec.Command("ip", strings.Fields(args)...).CombinedOutput(); err != nil {
			saw["network"] = fmt.Sprintf("%s: %v %s", args, err, out)
			return saw
		}
	}
	at, err := askForName(e.Name)
	if err != nil {
		saw["name"] = err.Error()
		return saw
	}
	saw["name"] = at
	if p.ca == nil {
		p.trust(at, e.Name, saw)
	}
	if e.Code != "" {
		p.pair(at, e, saw)
	}
	saw["by number"], _ = p.https(at, at, "GET", "/health", nil, nil)
	saw["start"], _ = p.https(at, e.Name, "GET", "/", nil, p.cookie)
	body := fmt.Sprintf(`{"notes":[{"id":%q,"ride_id":"ride","device":"phone","seq":%d,"kind":"later","at_s":1}]}`, e.Note, len(e.Note))
	saw["note"], _ = p.https(at, e.Name, "POST", "/rides/ride/notes", []byte(body), p.cookie)
	return saw
}

// askForName asks the local network for an IPv4 address by multicast DNS until it is told one.
func askForName(name string) (string, error) {
	conn, err := net.ListenPacket("udp4", ":0")
	if err != nil {
		return "", err
	}
	defer conn.Close()
	ifi, err := net.InterfaceByName("phone0")
	if err != nil {
		return "", err
	}
	if err := ipv4.NewPacketConn(conn).SetMulticastInterface(ifi); err != nil {
		return "", err
	}
	q := dnsmessage.Message{Header: dnsmessage.Header{ID: 7}, Questions: []dnsmessage.Question{{Name: dnsmessage.MustNewName(name + "."), Type: dnsmessage.TypeA, Class: dnsmessage.ClassINET}}}
	packet, err := q.Pack()
	if err != nil {
		return "", err
	}
	buf := make([]byte, 9000)
	for began := time.Now(); time.Since(began) < patience; {
		if _, err := conn.WriteTo(packet, &net.UDPAddr{IP: net.IPv4(224, 0, 0, 251), Port: 5353}); err != nil && !errors.Is(err, syscall.ENETUNREACH) {
			return "", err
		}
		conn.SetReadDeadline(time.Now().Add(500 * time.Millisecond))
		n, _, err := conn.ReadFrom(buf)
		if err != nil {
			continue
		}
		var m dnsmessage.Message
		if m.Unpack(buf[:n]) == nil && len(m.Answers) == 1 {
			if a, ok := m.Answers[0].Body.(*dnsmessage.AResource); ok {
				return net.IP(a.A[:]).String(), nil
			}
		}
	}
	return "", errors.New("nobody answers for " + name)
}

// trust fetches the authority's certificate from the plain port and looks what else it hands out.
func (p *phone) trust(at, name string, saw map[string]string) {
	saw["untrusted"], _ = p.https(at, name, "GET", "/health", nil, nil)
	fetch := func(path string) (int, []byte) {
		resp, err := http.Get("http://" + net.JoinHostPort(at, "8081") + path)
		if err != nil {
			saw["plain"+path] = err.Error()
			return 0, nil
		}
		defer resp.Body.Close()
		b, _ := io.ReadAll(resp.Body)
		return resp.StatusCode, b
	}
	_, page := fetch("/")
	_, der := fetch("/ringcraft-authority.crt")
	for _, other := range []string{"/pair", "/sign-in", "/rides/ride/notes", "/health"} {
		if code, _ := fetch(other); code != http.StatusNotFound {
			saw["plain port"] += fmt.Sprintf("%s: %d ", other, code)
		}
	}
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		saw["certificate"] = err.Error()
		return
	}
	sum := sha256.Sum256(der)
	var pairs []string
	for _, b := range sum {
		pairs = append(pairs, fmt.Sprintf("%02X", b))
	}
	saw["fingerprint"] = strings.Join(pairs, " ")
	saw["on the page"] = fmt.Sprint(bytes.Contains(page, []byte(saw["fingerprint"])))
	p.ca = x509.NewCertPool()
	p.ca.AddCert(cert)
}

// pair opens the address of the square, sends the form, and tries the code once more as another.
func (p *phone) pair(at string, e errand, saw map[string]string) {
	saw["stranger"], _ = p.https(at, e.Name, "GET", "/", nil, nil)
	saw["square"], _ = p.https(at, e.Name, "GET", "/pair?code="+url.QueryEscape(e.Code), nil, nil)
	form := []byte(url.Values{"code": {e.Code}, "device": {"the phone"}}.Encode())
	saw["pair"], p.cookie = p.https(at, e.Name, "POST", "/pair", form, nil)
	saw["pair again"], _ = p.https(at, e.Name, "POST", "/pair", form, nil)
}

// https asks the server under its name, at the address it was found at, with the phone's own trust.
func (p *phone) https(at, name, method, path string, body []byte, cookie *http.Cookie) (string, *http.Cookie) {
	roots := p.ca
	if roots == nil {
		roots = x509.NewCertPool()
	}
	client := &http.Client{
		Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, DisableKeepAlives: true,
			DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) {
				return new(net.Dialer).DialContext(ctx, network, net.JoinHostPort(at, "8443"))
			}},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Timeout:       patience,
	}
	r, err := http.NewRequest(method, "https://"+net.JoinHostPort(name, "8443")+path, bytes.NewReader(body))
	if err != nil {
		return err.Error(), nil
	}
	if method == "POST" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		if body[0] == '{' {
			r.Header.Set("Content-Type", "application/json")
		}
	}
	if cookie != nil {
		r.AddCookie(cookie)
	}
	resp, err := client.Do(r)
	if err != nil {
		return err.Error(), nil
	}
	defer resp.Body.Close()
	io.Copy(io.Discard, resp.Body)
	var got *http.Cookie
	if all := resp.Cookies(); len(all) > 0 {
		got = all[0]
	}
	return fmt.Sprint(resp.StatusCode), got
}

// TestFromAnotherHost has a phone on another host, at the other end of a cable (a pair of virtual
// interfaces, the phone's in a network of its own): it finds the server by name, trusts the
// certificate from the plain port, pairs by the square's address, once, and sends notes; then the
// laptop is carried to a yard with other addresses while it runs, and the phone goes on. There is
// no way to the internet, and no network at all when the server starts.
func TestFromAnotherHost(t *testing.T) {
	if !testkit.OwnWorld(t, "netns", true) {
		return
	}
	run := func(args ...string) {
		t.Helper()
		if out, err := exec.Command(args[0], args[1:]...).CombinedOutput(); err != nil {
			testkit.Missing(t, "netns", fmt.Sprintf("no network of its own: %v: %v %s", args, err, out))
		}
	}
	run("ip", "link", "set", "lo", "up")
	dir := t.TempDir()
	fillStore(t, dir)
	if out, err := childSetPassword(dir).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	c := startChild(t, true, nil, "serve", "--data", dir, "--listen", ":8443", "--trust-listen", ":8081", "--log", "json")
	name := strings.TrimSuffix(strings.TrimPrefix(c.url, "https://"), ":8443")

	run("ip", "link", "add", "yard0", "type", "veth", "peer", "name", "phone0")
	other, in, out := startPhone(t)
	run("ip", "link", "set", "phone0", "netns", fmt.Sprint(other))
	run("ip", "addr", "add", "192.168.77.1/24", "dev", "yard0")
	run("ip", "link", "set", "yard0", "up")
	c.logs.wait(t, "192.168.77.1") // the certificate has followed

	shown, err := exec.Command("ringcraft", "serve", "--data", dir, "--pair").CombinedOutput()
	code := regexp.MustCompile(`[0-9A-Z]{4}-[0-9A-Z]{4}`).FindString(string(shown))
	if err != nil || code == "" || !strings.Contains(string(shown), c.url+"/pair") {
		t.Fatalf("%v %s", err, shown)
	}
	send := func(e errand) map[string]string {
		t.Helper()
		b, _ := json.Marshal(e)
		fmt.Fprintf(in, "%s\n", b)
		saw := map[string]string{}
		if !out.Scan() || json.Unmarshal(out.Bytes(), &saw) != nil {
			t.Fatalf("the phone says %q", out.Text())
		}
		return saw
	}
	saw := send(errand{Address: "192.168.77.2/24", Name: name, Code: code, Note: "a"})
	for what, want := range map[string]string{
		"network": "", "name": "192.168.77.1", "plain port": "", "certificate": "", "on the page": "true",
		"stranger": "401", "by number": "200", "square": "200", "pair": "303", "pair again": "401", "start": "200", "note": "200",
	} {
		if saw[what] != want {
			t.Errorf("first yard, %s: %q, want %q", what, saw[what], want)
		}
	}
	if !strings.Contains(saw["untrusted"], "unknown authority") {
		t.Errorf("before it trusts the authority the phone gets %q", saw["untrusted"])
	}
	if saw["fingerprint"] == "" || !strings.Contains(c.logs.String(), saw["fingerprint"]) {
		t.Errorf("the fingerprint %q is not the one on the machine's screen: %s", saw["fingerprint"], c.logs)
	}

	run("ip", "addr", "flush", "dev", "yard0")
	run("ip", "addr", "add", "10.20.30.1/24", "dev", "yard0")
	c.logs.wait(t, "10.20.30.1")
	saw = send(errand{Address: "10.20.30.2/24", Name: name, Note: "bb"})
	for what, want := range map[string]string{"network": "", "name": "10.20.30.1", "by number": "200", "start": "200", "note": "200"} {
		if saw[what] != want {
			t.Errorf("second yard, %s: %q, want %q", what, saw[what], want)
		}
	}
	c.cmd.Process.Signal(syscall.SIGTERM)
	if err := c.cmd.Wait(); err != nil {
		t.Errorf("%v %s", err, c.logs)
	}
	s, err := openData(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var notes []logbook.Note
	if notes, err = s.db.Notes(context.Background(), "ride"); err != nil || len(notes) != 2 {
		t.Errorf("%d notes in the book, want 2 (%v)", len(notes), err)
	}
	if strings.Contains(c.logs.String(), code) {
		t.Error("the code is in the log")
	}
}

// startPhone starts the other host and returns its process, its ear and its mouth.
func startPhone(t *testing.T) (pid int, in io.Writer, out *bufio.Scanner) {
	t.Helper()
	cmd := exec.Command("phone")
	cmd.Stderr = os.Stderr
	cmd.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWNET}
	w, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	r, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		testkit.Missing(t, "netns", fmt.Sprintf("no second host: %v", err))
	}
	t.Cleanup(func() { w.Close(); cmd.Wait() })
	return cmd.Process.Pid, w, bufio.NewScanner(r)
}
