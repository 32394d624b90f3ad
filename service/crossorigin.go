package service

import (
	"context"
	"slices"
)

// Origins are the origins of web pages that the club lets call its private
// interface. Errors: ErrClubNotFound.
func (s Clubs) Origins(ctx context.Context, ref string) ([]string, error) {
	club, err := s.club(ctx, ref)
	return club.AllowedOrigins, err
}

// AnyLists tells whether a club lets pages of an origin call its private interface,
// so that a member may sign in there. Errors: the store's.
func (s Clubs) AnyLists(ctx context.Context, origin string) (bool, error) {
	all, err := s.clubs(ctx)
	return slices.ContainsFunc(all, func(c Club) bool { return slices.Contains(c.AllowedOrigins, origin) }), err
}
