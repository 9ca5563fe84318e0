// Command ampstroke computes what a rebuilt electric spring-piston replica will
// do, from a build file, before a part is bought.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second signal ends the program at once
	code := status(run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr), os.Stderr)
	stop()
	os.Exit(code)
}
