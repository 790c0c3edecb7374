//go:build !windows

package jobs

import (
	"os/exec"
	"syscall"
)

// ownGroup puts the command into a process group of its own and ends the whole group on cancel.
func ownGroup(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
}
