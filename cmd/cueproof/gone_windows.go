package main

import "syscall"

// pipeEnds are the errors of a write to a pipe whose reader has ended (Windows, System Error
// Codes): ERROR_BROKEN_PIPE, ERROR_NO_DATA and ERROR_PIPE_NOT_CONNECTED.
var pipeEnds = []error{syscall.Errno(109), syscall.Errno(232), syscall.Errno(233), syscall.EPIPE}
