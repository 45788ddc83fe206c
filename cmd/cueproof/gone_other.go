//go:build !windows

package main

import "syscall"

// pipeEnds are the errors of a write to a pipe whose reader has ended. The program meets them
// only where SIGPIPE is ignored, as under nohup; otherwise that signal has ended it.
var pipeEnds = []error{syscall.EPIPE}
