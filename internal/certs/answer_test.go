package certs

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"net"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/dns/dnsmessage"
)

const phoneName = "ringcraft-7k2q.local"

var ours = []net.IP{net.IPv4(192, 168, 7, 20), net.ParseIP("fd00::20")}

func question(t testing.TB, name string, kind dnsmessage.Type, class dnsmessage.Class) []byte {
	t.Helper()
	m := dnsmessage.Message{Header: dnsmessage.Header{ID: 77}, Questions: []dnsmessage.Question{
		{Name: dnsmessage.MustNewName(name), Type: kind, Class: class}}}
	b, err := m.Pack()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestAnswers(t *testing.T) {
	in := dnsmessage.ClassINET
	for _, c := range []struct {
		what     string
		packet   []byte
		port     int
		answers  int // -1: no answer at all
		direct   bool
		id       uint16
		ttl      uint32
		flushBit bool
	}{
		{"a phone asks everybody", question(t, phoneName+".", dnsmessage.TypeA, in), 5353, 1, false, 0, 120, true},
		{"another case", question(t, "RingCraft-7K2Q.LOCAL.", dnsmessage.TypeAAAA, in), 5353, 1, false, 0, 120, true},
		{"asks for a direct answer", question(t, phoneName+".", dnsmessage.TypeALL, in|topBit), 5353, 2, true, 0, 120, true},
		{"a plain resolver", question(t, phoneName+".", dnsmessage.TypeA, in), 40000, 1, true, 77, 10, false},
		{"text record: none, said so", question(t, phoneName+".", dnsmessage.TypeTXT, in), 5353, 0, false, 0, 120, true},
		{"another name", question(t, "other.local.", dnsmessage.TypeA, in), 5353, -1, false, 0, 0, false},
		{"another class", question(t, phoneName+".", dnsmessage.TypeA, dnsmessage.ClassCHAOS), 5353, -1, false, 0, 0, false},
		{"rubbish", []byte("hello"), 5353, -1, false, 0, 0, false},
	} {
		a, ok := answerTo(c.packet, phoneName, ours, c.port)
		if ok != (c.answers >= 0) {
			t.Errorf("%s: answered %v", c.what, ok)
			continue
		}
		if !ok {
			continue
		}
		var m dnsmessage.Message
		if err := m.Unpack(a.packet); err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		if len(m.Answers) != c.answers || a.direct != c.direct || m.ID != c.id || !m.Response || !m.Authoritative {
			t.Errorf("%s: %d answers, direct %v, %+v", c.what, len(m.Answers), a.direct, m.Header)
		}
		for _, r := range append(m.Answers, m.Additionals...) {
			if r.Header.TTL != c.ttl || (r.Header.Class&topBit != 0) != c.flushBit {
				t.Errorf("%s: %+v", c.what, r.Header)
			}
		}
		// RFC 4034 section 4.1: window 0, 4 octets, bits for A (1) and AAAA (28)
		n := m.Additionals[0].Body.(*dnsmessage.UnknownResource).Data
		if !bytes.HasSuffix(n, []byte{0, 0, 4, 0x40, 0, 0, 0x08}) || !bytes.HasPrefix(n, []byte("\x0eringcraft-7k2q\x05local\x00")) {
			t.Errorf("%s: NSEC %q", c.what, n)
		}
	}
}

func TestForeignClaim(t *testing.T) {
	theirs, _ := respond(0, nil, phoneName, []net.IP{net.IPv4(192, 168, 7, 99)}, false, hostTTL)
	own, _ := respond(0, nil, phoneName, ours, false, hostTTL)
	bye, _ := respond(0, nil, phoneName, []net.IP{net.IPv4(192, 168, 7, 99)}, false, 0)
	if ip, ok := claimedByOther(theirs, phoneName, ours); !ok || ip.String() != "192.168.7.99" {
		t.Errorf("%v %v", ip, ok)
	}
	for _, p := range [][]byte{own, bye, question(t, phoneName+".", dnsmessage.TypeA, 1), []byte("x")} {
		if _, ok := claimedByOther(p, phoneName, ours); ok {
			t.Errorf("claim seen in %q", p)
		}
	}
}

// loopLink is a responder's network on a loopback socket.
type loopLink struct{ conn *net.UDPConn }

func (l loopLink) receive(buf []byte) (int, *net.UDPAddr, int, error) {
	n, from, err := l.conn.ReadFromUDP(buf)
	return n, from, 1, err
}
func (l loopLink) send(p []byte, to *net.UDPAddr, _ int) error {
	if !to.IP.IsLoopback() {
		return errors.New("not in a test")
	}
	_, err := l.conn.WriteToUDP(p, to)
	return err
}
func (l loopLink) networks() []int        { return []int{1} }
func (l loopLink) addresses(int) []net.IP { return ours }
func (l loopLink) Close() error           { return l.conn.Close() }
func listenLoop(t *testing.T) *net.UDPConn {
	t.Helper()
	c, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestResponderOverASocket(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	server := listenLoop(t)
	var log bytes.Buffer
	done := make(chan struct{})
	go func() {
		respondOn(ctx, loopLink{server}, phoneName, slog.New(slog.NewTextHandler(&log, nil)))
		close(done)
	}()
	phone := listenLoop(t)
	defer phone.Close()
	to := server.LocalAddr().(*net.UDPAddr)
	claim, _ := respond(0, nil, phoneName, []net.IP{net.IPv4(192, 168, 7, 99)}, false, hostTTL)
	for _, p := range [][]byte{[]byte("rubbish"), claim, question(t, phoneName+".", dnsmessage.TypeA, 1)} {
		phone.WriteToUDP(p, to)
	}
	buf := make([]byte, 1500)
	phone.SetReadDeadline(time.Now().Add(10 * time.Second))
	n, _, err := phone.ReadFromUDP(buf)
	if err != nil {
		t.Fatal(err)
	}
	var m dnsmessage.Message
	if err := m.Unpack(buf[:n]); err != nil || len(m.Answers) != 1 || m.Answers[0].Body.(*dnsmessage.AResource).A != [4]byte{192, 168, 7, 20} {
		t.Errorf("%v %+v", err, m)
	}
	cancel()
	<-done
	if !strings.Contains(log.String(), "another machine") || !strings.Contains(log.String(), "192.168.7.99") {
		t.Errorf("a foreign claim was not logged: %s", log.String())
	}
}

func FuzzAnswer(f *testing.F) {
	f.Add(question(f, phoneName+".", dnsmessage.TypeA, 1), 5353)
	f.Add(question(f, phoneName+".", dnsmessage.TypeALL, 1|topBit), 1)
	r, _ := respond(0, nil, phoneName, ours, false, hostTTL)
	f.Add(r, 5353)
	f.Fuzz(func(t *testing.T, p []byte, port int) {
		if a, ok := answerTo(p, phoneName, ours, port); ok {
			var m dnsmessage.Message
			if err := m.Unpack(a.packet); err != nil || len(a.packet) > mostPacket+512 {
				t.Fatalf("%d bytes, %v", len(a.packet), err)
			}
		}
		claimedByOther(p, phoneName, ours)
	})
}
