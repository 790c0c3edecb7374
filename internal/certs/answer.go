package certs

import (
	"net"
	"strings"

	"golang.org/x/net/dns/dnsmessage"
)

// Times to live (RFC 6762 sections 10 and 6.7) and bits (sections 5.4 and 10.2).
const (
	hostTTL    = 120
	legacyTTL  = 10
	topBit     = 1 << 15 // in a question: answer me directly; in an answer: forget what you knew
	typeNSEC   = dnsmessage.Type(47)
	mdnsPort   = 5353
	mostPacket = 9000 // RFC 6762 section 17
)

// answer is what is sent back for one packet.
type answer struct {
	packet []byte
	direct bool // to the one who asked, not to everybody
}

// answerTo answers the questions in a packet that are about name, or nothing (ok false). ips are
// the machine's addresses on the network the packet came from; fromPort tells a plain resolver
// (any port but 5353, RFC 6762 section 6.7) from a multicast one.
func answerTo(packet []byte, name string, ips []net.IP, fromPort int) (answer, bool) {
	var p dnsmessage.Parser
	h, err := p.Start(packet)
	if err != nil || h.Response || h.OpCode != 0 || len(packet) > mostPacket {
		return answer{}, false
	}
	asked, direct := questionsAbout(&p, name)
	if len(asked) == 0 {
		return answer{}, false
	}
	legacy := fromPort != mdnsPort
	out, err := respond(h.ID, asked, name, ips, legacy, hostTTL)
	return answer{packet: out, direct: direct || legacy}, err == nil
}

func questionsAbout(p *dnsmessage.Parser, name string) (asked []dnsmessage.Question, direct bool) {
	for range 64 {
		q, err := p.Question()
		if err != nil {
			break
		}
		class := q.Class &^ topBit
		if !sameName(q.Name.String(), name) || (class != dnsmessage.ClassINET && class != dnsmessage.ClassANY) {
			continue
		}
		direct = direct || q.Class&topBit != 0
		asked = append(asked, q)
	}
	return asked, direct
}

func sameName(wire, name string) bool {
	return strings.EqualFold(strings.TrimSuffix(wire, "."), strings.TrimSuffix(name, "."))
}

// respond builds an answer with all addresses of the wanted kinds and the word that there are no
// others (NSEC, RFC 6762 section 6.1), so that a phone need not wait for an IPv6 address.
func respond(id uint16, asked []dnsmessage.Question, name string, ips []net.IP, legacy bool, ttl uint32) ([]byte, error) {
	n, err := dnsmessage.NewName(strings.TrimSuffix(name, ".") + ".")
	if err != nil {
		return nil, err
	}
	h := dnsmessage.Header{Response: true, Authoritative: true}
	class := dnsmessage.ClassINET | topBit
	if legacy {
		h.ID, class, ttl = id, dnsmessage.ClassINET, min(ttl, legacyTTL)
	}
	b := dnsmessage.NewBuilder(nil, h)
	b.EnableCompression()
	if legacy {
		if err := repeatQuestions(&b, asked); err != nil {
			return nil, err
		}
	}
	if err := b.StartAnswers(); err != nil {
		return nil, err
	}
	rh := dnsmessage.ResourceHeader{Name: n, Class: class, TTL: ttl}
	for _, ip := range ips {
		if err := addAddress(&b, rh, ip, asked); err != nil {
			return nil, err
		}
	}
	if err := b.StartAdditionals(); err != nil {
		return nil, err
	}
	rh.Type = typeNSEC
	if err := b.UnknownResource(rh, dnsmessage.UnknownResource{Type: typeNSEC, Data: nsec(n.String(), ips)}); err != nil {
		return nil, err
	}
	return b.Finish()
}

func repeatQuestions(b *dnsmessage.Builder, asked []dnsmessage.Question) error {
	if err := b.StartQuestions(); err != nil {
		return err
	}
	for _, q := range asked {
		q.Class &^= topBit
		if err := b.Question(q); err != nil {
			return err
		}
	}
	return nil
}

func addAddress(b *dnsmessage.Builder, rh dnsmessage.ResourceHeader, ip net.IP, asked []dnsmessage.Question) error {
	if v4 := ip.To4(); v4 != nil {
		if !wants(asked, dnsmessage.TypeA) {
			return nil
		}
		return b.AResource(rh, dnsmessage.AResource{A: [4]byte(v4)})
	}
	if !wants(asked, dnsmessage.TypeAAAA) {
		return nil
	}
	return b.AAAAResource(rh, dnsmessage.AAAAResource{AAAA: [16]byte(ip.To16())})
}

func wants(asked []dnsmessage.Question, t dnsmessage.Type) bool {
	for _, q := range asked {
		if q.Type == t || q.Type == dnsmessage.TypeALL {
			return true
		}
	}
	return len(asked) == 0 // an announcement
}

// nsec is the wire form of an NSEC record that names the address types there are.
func nsec(name string, ips []net.IP) []byte {
	var out []byte
	for _, label := range strings.Split(strings.TrimSuffix(name, "."), ".") {
		out = append(append(out, byte(len(label))), label...)
	}
	var bits [4]byte // types 0 to 31, the first type in the highest bit
	for _, ip := range ips {
		t := 28 // AAAA
		if ip.To4() != nil {
			t = 1 // A
		}
		bits[t/8] |= 0x80 >> (t % 8)
	}
	return append(append(out, 0, 0, 4), bits[:]...)
}

// claimedByOther reports whether a packet says that name belongs to an address that is not ours.
func claimedByOther(packet []byte, name string, ours []net.IP) (net.IP, bool) {
	var p dnsmessage.Parser
	h, err := p.Start(packet)
	if err != nil || !h.Response || p.SkipAllQuestions() != nil {
		return nil, false
	}
	for range 256 {
		rh, err := p.AnswerHeader()
		if err != nil {
			return nil, false
		}
		if rh.Type != dnsmessage.TypeA || rh.TTL == 0 || !sameName(rh.Name.String(), name) {
			if p.SkipAnswer() != nil {
				return nil, false
			}
			continue
		}
		a, err := p.AResource()
		if err != nil {
			return nil, false
		}
		if ip := net.IP(a.A[:]); !holds(ours, ip) {
			return ip, true
		}
	}
	return nil, false
}

func holds(ips []net.IP, ip net.IP) bool {
	for _, o := range ips {
		if o.Equal(ip) {
			return true
		}
	}
	return false
}
