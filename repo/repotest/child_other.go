//go:build !linux

package repotest

import "syscall"

// attributes leaves a child alone; Stop ends it.
func attributes() *syscall.SysProcAttr { return &syscall.SysProcAttr{} }
