package testkit

import (
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
)

const insideEnv = "RINGCRAFT_INSIDE"

// OwnWorld runs the calling test once more in a process that has mounts (and with network also
// network interfaces) of its own, in which it may do what only root may. It returns true inside;
// outside it reports how the test went there, and the caller returns. Any user can have such a
// world where the system allows user namespaces; elsewhere the test is left out, or fails when
// RINGCRAFT_REQUIRE names need.
func OwnWorld(t *testing.T, need string, network bool) bool {
	t.Helper()
	if os.Getenv(insideEnv) == t.Name() {
		// what is mounted here shall not show outside; where that is so already this changes nothing
		_ = syscall.Mount("", "/", "", syscall.MS_REC|syscall.MS_PRIVATE, "")
		return true
	}
	t.Parallel() // it waits for another process
	attr := &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWNS}
	if network {
		attr.Cloneflags |= syscall.CLONE_NEWNET
	}
	if os.Geteuid() != 0 {
		attr.Cloneflags |= syscall.CLONE_NEWUSER
		attr.UidMappings = []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Geteuid(), Size: 1}}
		attr.GidMappings = []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getegid(), Size: 1}}
	}
	cmd := exec.Command("/proc/self/exe", "-test.run=^"+t.Name()+"$", "-test.v")
	cmd.Env = append(os.Environ(), insideEnv+"="+t.Name())
	cmd.SysProcAttr = attr
	out, err := cmd.CombinedOutput()
	text := string(out)
	switch {
	case strings.Contains(text, "--- PASS: "+t.Name()) && err == nil:
		t.Logf("in a world of its own:\n%s", text)
	case strings.Contains(text, "--- SKIP: "+t.Name()) && err == nil:
		missing(t, need, lastBut(text))
	case text == "": // it did not begin
		missing(t, need, "no user and mount namespaces here: "+err.Error())
	default:
		t.Fatalf("in a world of its own: %v\n%s", err, text)
	}
	return false
}

// lastBut is the reason a skipped test gave: the indented line before its end.
func lastBut(text string) string {
	why := "left out"
	for _, line := range strings.Split(text, "\n") {
		if strings.HasPrefix(line, "    ") {
			why = strings.TrimSpace(line)
		}
	}
	return why
}
