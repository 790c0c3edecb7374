//go:build linux

package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"syscall"
	"testing"
	"time"
	"unsafe"

	"ringcraft/internal/testkit"
)

// ext4's own way to act as if the power went: everything that was not synced is dropped, the
// journal is not written either (include/uapi/linux/ext4.h, EXT4_IOC_SHUTDOWN with
// EXT4_GOING_FLAGS_NOLOGFLUSH; the tests of Linux file systems cut the power this way).
const (
	ext4Shutdown   = 0x8004587d
	goingNoJournal = 2
)

// ext4Disk is a small disk of its own on a loop device.
type ext4Disk struct{ image, dir string }

func newExt4Disk(t *testing.T) *ext4Disk {
	t.Helper()
	d := &ext4Disk{image: filepath.Join(t.TempDir(), "disk.img"), dir: t.TempDir()}
	for _, args := range [][]string{{"truncate", "-s", "96M", d.image}, {"mkfs.ext4", "-q", d.image}} {
		if out, err := exec.Command(args[0], args[1:]...).CombinedOutput(); err != nil {
			testkit.Missing(t, "loop", fmt.Sprintf("no disk can be made: %s: %v %s", args[0], err, out))
		}
	}
	if err := d.mount(); err != nil {
		testkit.Missing(t, "loop", fmt.Sprintf("a disk on a loop device cannot be mounted here (only root may): %v", err))
	}
	t.Cleanup(func() { exec.Command("umount", d.dir).Run() })
	return d
}

func (d *ext4Disk) mount() error {
	out, err := exec.Command("mount", "-o", "loop", d.image, d.dir).CombinedOutput()
	if err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	return nil
}

// cut takes the power away from the disk at once.
func (d *ext4Disk) cut(t *testing.T) {
	t.Helper()
	f, err := os.Open(d.dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	how := uint32(goingNoJournal)
	if _, _, errno := syscall.Syscall(syscall.SYS_IOCTL, f.Fd(), ext4Shutdown, uintptr(unsafe.Pointer(&how))); errno != 0 {
		testkit.Missing(t, "loop", fmt.Sprintf("this disk cannot be cut off: %v", errno))
	}
}

// back mounts the disk again as after a power cut: with what was on it, its journal replayed.
func (d *ext4Disk) back(t *testing.T) {
	t.Helper()
	if out, err := exec.Command("umount", d.dir).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	if err := d.mount(); err != nil {
		t.Fatal(err)
	}
}

// TestPowerCutUnderServer cuts the power of the disk under the real server at drawn instants under
// load: what was acknowledged, in the database and in the recordings, is there after it. Unlike a
// kill this drops every byte that was written and not synced. RINGCRAFT_CUTS sets how often.
func TestPowerCutUnderServer(t *testing.T) {
	if !testkit.OwnWorld(t, "loop", false) {
		return
	}
	cuts := envInt("RINGCRAFT_CUTS", 6)
	seed := uint64(envInt("RINGCRAFT_SEED", int(time.Now().UnixNano()&0x7fffffff)))
	t.Logf("%d cuts, seed %d", cuts, seed)
	rnd := rand.New(rand.NewPCG(seed, 2))
	disk := newExt4Disk(t)
	dir := filepath.Join(disk.dir, "store")
	fillStore(t, dir)
	syscall.Sync() // the store was made long before the power goes
	var scribes []*scribe
	for i := range 4 {
		scribes = append(scribes, newScribe(i, seed))
	}
	scribes[3].sounds = map[int]string{}
	for round := range cuts {
		c := serveChild(t, dir, true)
		judge(t, round, fetchNotes(t, c.url), scribes)
		ctx, cancel := context.WithCancel(context.Background())
		m := newMoments(1 + rnd.IntN(400))
		var wg sync.WaitGroup
		for _, s := range scribes {
			wg.Go(func() { s.send(ctx, c.url, m) })
		}
		m.wait(t)
		m.over.Store(true) // ext4 needs some time to go down; what it says meanwhile is not counted
		disk.cut(t)
		c.kill()
		cancel()
		wg.Wait()
		disk.back(t)
	}
	notes, sounds := finalJudge(t, dir, scribes)
	if notes == 0 {
		t.Error("no load")
	}
	t.Logf("%d acknowledged notes and %d pieces of sound after %d power cuts, all there", notes, sounds, cuts)
}
