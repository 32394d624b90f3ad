package keep

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/service"
)

// line is an erasure as a line of a list: ids alone, nothing personal.
type line struct {
	Club    service.ClubID    `json:"club,omitempty"`
	Member  service.MemberID  `json:"member,omitempty"`
	Account service.AccountID `json:"account,omitempty"`
	At      time.Time         `json:"at,omitzero"`
}

// forgotten reads a list of erasures; no path is no list. A last line that broke
// off as it was written isn't read. Errors: the file system's; one that names the
// line that can't be read.
func forgotten(path string) ([]service.Forgotten, error) {
	if path == "" {
		return nil, nil
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var out []service.Forgotten
	lines := bytes.SplitAfter(data, []byte("\n"))
	for i, text := range lines[:len(lines)-1] {
		var l line
		strict := json.NewDecoder(bytes.NewReader(text))
		strict.DisallowUnknownFields()
		if err := strict.Decode(&l); err != nil || (l.Club == "") != (l.Member == "") || (l.Account == "") == (l.Member == "") {
			return nil, fmt.Errorf("%s, line %d: this is no erasure of a member or an account", path, i+1)
		}
		out = append(out, service.Forgotten(l))
	}
	return out, nil
}

// remember adds to a list those erasures that aren't in it; a new list is made
// where there is none. What was added is on the disk. Errors: those of forgotten.
func remember(path string, all []service.Forgotten) error {
	before, err := forgotten(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	known := map[service.Forgotten]bool{}
	for _, f := range before {
		known[undated(f)] = true
	}
	var added bytes.Buffer
	for _, f := range all {
		if !known[undated(f)] {
			if err := json.NewEncoder(&added).Encode(line(f)); err != nil {
				return err
			}
		}
	}
	if added.Len() == 0 && err == nil {
		return nil
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	return errors.Join(appendTo(f, added.Bytes()), f.Close())
}

// appendTo writes lines behind the last whole line of f. Errors: the file
// system's.
func appendTo(f *os.File, lines []byte) error {
	data, err := os.ReadFile(f.Name())
	if err != nil {
		return err
	}
	end := int64(bytes.LastIndexByte(data, '\n') + 1)
	if _, err := f.WriteAt(lines, end); err != nil {
		return err
	}
	if err := f.Truncate(end + int64(len(lines))); err != nil {
		return err
	}
	return f.Sync()
}

// undated is an erasure without its time, which the same has on every list.
func undated(f service.Forgotten) service.Forgotten {
	f.At = time.Time{}
	return f
}

// listErasures prints all erasures, or adds them to a list. Errors: those of Do.
func (t Tools) listErasures(ctx context.Context, c call) error {
	s, err := t.open(ctx, c.db, repo.Options{ToRead: true})
	if err != nil {
		return err
	}
	all, err := s.Forgotten(ctx)
	if err = errors.Join(err, s.store.Close()); err != nil {
		return err
	}
	if c.out != "" {
		return remember(c.out, all)
	}
	out := json.NewEncoder(t.Out)
	for _, f := range all {
		err = errors.Join(err, out.Encode(line(f)))
	}
	return err
}

// List keeps the list of a running service's erasures: at its start those on the
// list are done again, where an older copy of the database has brought somebody
// back; then, once a minute and as ctx ends, the list is brought up to date. failed
// is told what couldn't be done. An empty path keeps none. Errors: those of
// service.ForgetAgain, the file system's.
func List(ctx context.Context, s *service.Service, path string, failed func(what string, err error)) (stop func(), err error) {
	if path == "" {
		return func() {}, nil
	}
	again, err := forgotten(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	if _, err := s.ForgetAgain(ctx, again); err != nil {
		return nil, err
	}
	ctx, cancel := context.WithCancel(ctx)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		tick := time.NewTicker(time.Minute)
		defer tick.Stop()
		for last := false; ; {
			all, err := s.Forgotten(context.WithoutCancel(ctx))
			if err == nil {
				err = remember(path, all)
			}
			if err != nil {
				failed("list of erasures not written", err)
			}
			if last {
				return
			}
			select {
			case <-tick.C:
			case <-ctx.Done():
				last = true
			}
		}
	}()
	return func() { cancel(); <-ended }, nil
}
