package daemon

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"antidotary/daemon/store"
)

// stored says how to open the database that the configuration names.
func (o *Options) stored() (store.Options, error) {
	out := store.Options{Clock: o.Clock, SharedClock: o.machineClock}
	if file := o.Config.DatabasePasswordFile; file != "" {
		var err error
		if out.Password, err = secret(file); err != nil {
			return out, fmt.Errorf("read the database's password: %w", err)
		}
	}
	return out, nil
}

// open opens the database to write.
func (o *Options) open(ctx context.Context) (*store.Store, error) {
	how, err := o.stored()
	if err != nil {
		return nil, err
	}
	return store.Open(ctx, o.Config.Database, how)
}

// asked opens the database to be asked, beside a daemon that writes.
func (o *Options) asked(ctx context.Context) (*store.Store, error) {
	how, err := o.stored()
	if err != nil {
		return nil, err
	}
	return store.OpenReadOnly(ctx, o.Config.Database, how)
}

// beside opens the database to record what happened, whether a daemon runs on
// it or not.
func (o *Options) beside(ctx context.Context) (*store.Store, error) {
	how, err := o.stored()
	if err != nil {
		return nil, err
	}
	return store.OpenBeside(ctx, o.Config.Database, how)
}

// recorded opens a database that is there already, to record what happened.
func (o *Options) recorded(ctx context.Context) (*store.Store, error) {
	if !store.IsServer(o.Config.Database) {
		if _, err := os.Stat(o.Config.Database); errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("there is no database %s: antidotary new makes a house", o.Config.Database)
		}
	}
	return o.beside(ctx)
}
