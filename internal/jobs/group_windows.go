package jobs

import "os/exec"

// ownGroup leaves the default: on Windows the command itself is ended.
func ownGroup(*exec.Cmd) {}
