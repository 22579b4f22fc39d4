package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"os/signal"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"time"

	"pinwright/store"
	"pinwright/web"
)

// databaseName is the file in the data folder that keeps everything.
const databaseName = "pinwright.db"

// stopWithin is how long pages still being sent may take when the program is
// told to stop.
const stopWithin = 5 * time.Second

func serveUsage() usage {
	var b strings.Builder
	b.WriteString(`Pinwright prepares a marble-played music machine for its public: it sets songs on
the programming wheel and works out how fast each can safely be played, and why.

Start with
  pinwright
and open the address that it prints. A demo machine and songs are there to try.

Commands do the same work on files:
`)
	for _, c := range commands() {
		fmt.Fprintf(&b, "  pinwright %-46s  %s\n", c.usage, c.does)
	}
	b.WriteString(`  pinwright COMMAND -h                                      show a command's flags, with an example`)
	return usage{name: "pinwright", before: b.String(), after: `Exit status: 0 done, and safe where that was asked; 1 done, and there are
findings; 2 bad usage or input.`}
}

// serve keeps the pages open until it is told to stop.
func serve(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	u := serveUsage()
	fs := newFlags(u)
	addr := fs.String("addr", defaultAddress, "the `HOST:PORT` at which to serve the pages, on this computer only; "+defaultAddress+"\nif left out")
	phonesAt := fs.String("phones", "", phonesHelp)
	usual, err := dataFolder(runtime.GOOS, os.Getenv)
	if err != nil {
		usual = "there has to be one: " + err.Error()
	}
	dir := fs.String("data", "", "the `FOLDER` to keep everything in; if left out\n"+usual)
	asked := fs.Bool("version", false, "show which version this is")
	if status, ok := u.parse(fs, args, stdout, stderr); !ok {
		return status
	}
	if *asked {
		return answer(stdout, stderr, "pinwright "+version()+"\n", done)
	}
	address, err := loopbackAddress(*addr)
	if err != nil {
		return u.misused(stderr, "%s", err)
	}
	var forPhones netip.AddrPort
	if *phonesAt != "" {
		if forPhones, err = phonesAddress(*phonesAt, ownAddresses()); err != nil {
			return u.misused(stderr, "%s", err)
		}
	}
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
	defer stop()
	ln, err := listen(address)
	if err != nil {
		fmt.Fprintf(stderr, "pinwright: %s\n", err)
		return refused
	}
	defer ln.Close()
	var phonesLn net.Listener
	var phones *web.Phones
	if forPhones.IsValid() {
		if phonesLn, phones, err = listenForPhones(forPhones); err != nil {
			fmt.Fprintf(stderr, "pinwright: %s\n", err)
			return refused
		}
		defer phonesLn.Close()
	}
	st, err := openStore(ctx, *dir, stderr)
	if err != nil && ctx.Err() != nil { // told to stop already
		return done
	}
	if err != nil {
		fmt.Fprintf(stderr, "pinwright: %s\n", err)
		return refused
	}
	log := slog.New(slog.NewTextHandler(stderr, nil))
	pages, forThem := web.NewWithPhones(web.Options{Store: st, Version: version(), Now: time.Now, Log: log}, phones)
	fmt.Fprintf(stdout, "Pinwright is at http://%s\n", ln.Addr())
	doors := []door{{ln, pages}}
	if phones != nil {
		fmt.Fprintf(stdout, "Phones: http://%s, code %s\n", phonesLn.Addr(), phones.Code())
		doors = append(doors, door{phonesLn, forThem})
	}
	err = errors.Join(serveAll(ctx, doors, log, stop), st.Close())
	if err != nil {
		fmt.Fprintf(stderr, "pinwright: %s\n", err)
		return refused
	}
	return done
}

// openStore opens the database in a folder, and puts the demo into a new one.
// A demo that cannot be added is no reason not to start.
func openStore(ctx context.Context, dir string, stderr io.Writer) (*store.Store, error) {
	dir, err := makeDataFolder(dir)
	if err != nil {
		return nil, err
	}
	st, err := store.Open(ctx, filepath.Join(dir, databaseName), time.Now)
	if err != nil {
		return nil, err
	}
	err = seed(ctx, st)
	if ctx.Err() != nil {
		return nil, errors.Join(ctx.Err(), st.Close())
	}
	if err != nil {
		remark(stderr, "the demo machine and songs could not all be added, and will be next time: %s", err)
	}
	return st, nil
}

// door is an address and what is answered there.
type door struct {
	ln    net.Listener
	pages http.Handler
}

// serveAll is [serveUntil] for several doors. Where one fails the others end.
func serveAll(ctx context.Context, doors []door, log *slog.Logger, told func()) error {
	ctx, end := context.WithCancel(ctx)
	defer end()
	ended := make(chan error, len(doors))
	for _, d := range doors {
		go func() {
			defer end()
			ended <- serveUntil(ctx, d.ln, d.pages, log, told)
		}()
	}
	var errs []error
	for range doors {
		errs = append(errs, <-ended)
	}
	return errors.Join(errs...)
}

// serveUntil answers requests until ctx ends, and then lets those under way
// finish. told is called as soon as it ends, so that a second signal ends the
// program at once.
func serveUntil(ctx context.Context, ln net.Listener, handler http.Handler, log *slog.Logger, told func()) error {
	server := &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       time.Minute,
		WriteTimeout:      time.Minute,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(ln) }()
	select {
	case err := <-failed:
		return fmt.Errorf("the pages can no longer be served: %w", err)
	case <-ctx.Done():
	}
	told()
	ending, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
	defer cancel()
	if err := server.Shutdown(ending); err != nil {
		return server.Close() // what is still under way has had its time
	}
	return nil
}
