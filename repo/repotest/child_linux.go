package repotest

import "syscall"

// attributes makes the kernel end a child when the test binary dies.
func attributes() *syscall.SysProcAttr { return &syscall.SysProcAttr{Pdeathsig: syscall.SIGQUIT} }
