package service

import "context"

// Origins are the origins of web pages that the club lets call its private
// interface. Errors: ErrClubNotFound.
func (s Clubs) Origins(ctx context.Context, ref string) ([]string, error) {
	club, err := s.club(ctx, ref)
	return club.AllowedOrigins, err
}
