package certs

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"time"

	"golang.org/x/net/ipv4"
)

var mdnsGroup = &net.UDPAddr{IP: net.IPv4(224, 0, 0, 251), Port: mdnsPort}

// link is the local network that the responder listens on; tests put a loopback socket in its place.
type link interface {
	// receive returns the next packet, who sent it and the network it came in by.
	receive(buf []byte) (n int, from *net.UDPAddr, network int, err error)
	send(packet []byte, to *net.UDPAddr, network int) error
	// networks lists the numbers of the networks that are up and takes part in those that are new;
	// addresses gives ours on one of them.
	networks() []int
	addresses(network int) []net.IP
	Close() error
}

// lookAgain is how often the responder looks for networks that came, went or changed: a laptop is
// opened in the yard before its Wi-Fi is up, and carried to the next yard while it runs.
const lookAgain = 3 * time.Second

// Respond answers for name on all local networks by multicast DNS until ctx ends, on those too that
// come up later. It returns at once with an error when the port cannot be had; the server then
// works by address only.
func Respond(ctx context.Context, name string, log *slog.Logger) error {
	l, err := listenMulticast()
	if err != nil {
		return fmt.Errorf("answering for %s on the local network: %w", name, err)
	}
	go respondOn(ctx, l, name, log)
	return nil
}

// respondOn announces the name, answers, and says goodbye at the end. ours keeps two machines with
// one name from fighting unseen: the first foreign claim is logged.
func respondOn(ctx context.Context, l link, name string, log *slog.Logger) {
	go func() {
		follow(ctx, l, name)
		announce(l, name, 0)
		l.Close()
	}()
	warned := false
	buf := make([]byte, mostPacket+1)
	for {
		n, from, network, err := l.receive(buf)
		if err != nil {
			if ctx.Err() != nil || errors.Is(err, net.ErrClosed) {
				return
			}
			log.Warn("local network name: cannot receive", "err", err)
			if !sleep(ctx, time.Second) {
				return
			}
			continue
		}
		ips := l.addresses(network)
		if len(ips) == 0 {
			continue // the network has just gone, or has no address yet
		}
		if a, ok := answerTo(buf[:n], name, ips, from.Port); ok {
			reply(l, a, from, network, log)
		} else if ip, other := claimedByOther(buf[:n], name, ips); other && !warned {
			warned = true
			log.Warn("another machine on this network answers to our name; start with --name to choose another", "name", name, "address", ip.String())
		}
	}
}

func reply(l link, a answer, from *net.UDPAddr, network int, log *slog.Logger) {
	to := mdnsGroup
	if a.direct {
		to = from
	}
	if err := l.send(a.packet, to, network); err != nil {
		log.Debug("local network name: answer not sent", "err", err)
	}
}

// follow tells every network where the name is, whenever that changes, until ctx ends.
func follow(ctx context.Context, l link, name string) {
	tick := time.NewTicker(lookAgain)
	defer tick.Stop()
	told := ""
	for {
		now := ""
		for _, network := range l.networks() {
			now += fmt.Sprint(network, l.addresses(network), " ")
		}
		if now != told {
			announce(l, name, hostTTL)
			told = now
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

func announce(l link, name string, ttl uint32) {
	for _, network := range l.networks() {
		if len(l.addresses(network)) == 0 {
			continue
		}
		if packet, err := respond(0, nil, name, l.addresses(network), false, ttl); err == nil {
			_ = l.send(packet, mdnsGroup, network) // nobody may be listening: not a failure
		}
	}
}

func sleep(ctx context.Context, d time.Duration) bool {
	select {
	case <-ctx.Done():
		return false
	case <-time.After(d):
		return true
	}
}

// multicastLink is the real network: one socket that joins the group on every interface.
type multicastLink struct {
	conn *net.UDPConn
	p    *ipv4.PacketConn
}

// listenMulticast takes the port, shared with other responders of the machine (package net makes it
// shareable for a multicast address). It joins nothing: that a laptop which is its own access point
// has no way to the internet, and no network yet, is no reason to fail.
func listenMulticast() (*multicastLink, error) {
	conn, err := net.ListenUDP("udp4", mdnsGroup)
	if err != nil {
		return nil, err
	}
	l := &multicastLink{conn: conn, p: ipv4.NewPacketConn(conn)}
	err = errors.Join(l.p.SetControlMessage(ipv4.FlagInterface, true), l.p.SetMulticastTTL(255))
	if err != nil {
		conn.Close()
		return nil, err
	}
	return l, nil
}

func (l *multicastLink) receive(buf []byte) (int, *net.UDPAddr, int, error) {
	n, cm, from, err := l.p.ReadFrom(buf)
	if err != nil {
		return 0, nil, 0, err
	}
	addr, ok := from.(*net.UDPAddr)
	if !ok {
		return 0, nil, 0, fmt.Errorf("unexpected sender %T", from)
	}
	network := 0
	if cm != nil {
		network = cm.IfIndex
	}
	return n, addr, network, nil
}

func (l *multicastLink) send(packet []byte, to *net.UDPAddr, network int) error {
	_, err := l.p.WriteTo(packet, &ipv4.ControlMessage{IfIndex: network}, to)
	return err
}

func (l *multicastLink) networks() (up []int) {
	ifs, err := net.Interfaces()
	if err != nil {
		return nil
	}
	for _, i := range ifs {
		if i.Flags&net.FlagUp != 0 && i.Flags&net.FlagMulticast != 0 && i.Flags&net.FlagLoopback == 0 {
			_ = l.p.JoinGroup(&i, mdnsGroup) // most often it was joined before
			up = append(up, i.Index)
		}
	}
	return up
}

func (l *multicastLink) addresses(network int) (ips []net.IP) {
	if network == 0 {
		ips, _ = localAddresses()
		return ips
	}
	ifi, err := net.InterfaceByIndex(network)
	if err != nil {
		return nil
	}
	addrs, _ := ifi.Addrs()
	for _, a := range addrs {
		if n, ok := a.(*net.IPNet); ok && !(n.IP.To4() == nil && n.IP.IsLinkLocalUnicast()) {
			ips = append(ips, n.IP)
		}
	}
	return ips
}

// Close ends the link.
func (l *multicastLink) Close() error { return l.conn.Close() }
