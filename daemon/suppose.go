package daemon

import (
	"context"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/daemon/naming"
	"antidotary/daemon/supposing"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Suppose answers what would be otherwise if something were so. Nothing is
// written. The packs of more folders are supposed to be loaded as well; their
// rules count from their own effective days.
func Suppose(ctx context.Context, opt Options, q Question, sentences, packs []string) (*answer.Supposed, error) {
	base, err := Evaluate(ctx, opt, q)
	if err != nil {
		return nil, err
	}
	book := base.View.Book
	if len(packs) > 0 {
		cfg := opt.Config
		cfg.Rules = append(cfg.Rules[:len(cfg.Rules):len(cfg.Rules)], packs...)
		if book, err = Rulebook(cfg); err != nil {
			return nil, err
		}
	}
	supposed := base.View.Snapshot
	about := make(map[inventory.Ref]day.Day)
	for _, text := range sentences {
		names := &naming.Names{Snapshot: supposed, Book: book, Now: base.View.Ask.Now}
		one, err := supposing.Read(names, text)
		if err != nil {
			return nil, err
		}
		if supposed, err = one.Apply(supposed); err != nil {
			return nil, err
		}
		about[one.About] = one.On
	}
	then := compliance.Evaluate(book, supposed, base.View.Ask)
	all := sentences
	for _, folder := range packs {
		all = append(all[:len(all):len(all)], "the packs in "+folder+" are loaded")
	}
	out := answer.NewSupposed(base, then, base.View.Horizon(inventory.ID{}), all)
	out.Anyway(then, about)
	return out, nil
}
