package api

import "net/http"

// Health is the answer of a service that is well.
type Health struct {
	Status string `json:"status" example:"ok" enums:"ok" validate:"required"`
}

// live answers as long as the program runs.
//
//	@Summary		Tell whether the program runs
//	@Description	Needs nothing: no database, no token.
//	@ID				getLive
//	@Tags			service
//	@Produce		json
//	@Success		200	{object}	Health
//	@Failure		500	{object}	Problem
//	@Router			/livez [get]
func (s *Server) live(*request) (answer, error) {
	return answer{status: http.StatusOK, body: Health{"ok"}}, nil
}

// ready answers when the database does and has the program's schema.
//
//	@Summary		Tell whether the service can answer
//	@Description	Checks that the database answers and has the program's schema.
//	@ID				getReady
//	@Tags			service
//	@Produce		json
//	@Success		200		{object}	Health
//	@Failure		500,503	{object}	Problem
//	@Router			/readyz [get]
func (s *Server) ready(r *request) (answer, error) {
	if err := s.Store.Ready(r.ctx); err != nil {
		return answer{}, err
	}
	return answer{status: http.StatusOK, body: Health{"ok"}}, nil
}

// getKeys shows the public keys of access tokens.
//
//	@Summary		Show the public keys of access tokens
//	@Description	A JSON Web Key Set (RFC 7517) with the Ed25519 keys that sign access tokens, retired ones too.
//	@ID				getKeys
//	@Tags			service
//	@Produce		application/jwk-set+json
//	@Success		200		{object}	KeySet
//	@Failure		500,503	{object}	Problem
//	@Router			/.well-known/jwks.json [get]
func (s *Server) getKeys(r *request) (answer, error) {
	set, err := s.JWKS(r.ctx)
	return answer{status: http.StatusOK, raw: set, media: "application/jwk-set+json"}, err
}

// KeySet is a JSON Web Key Set (RFC 7517, RFC 8037).
type KeySet struct {
	Keys []PublicKey `json:"keys" validate:"required"`
}

// PublicKey is an Ed25519 key that verifies access tokens.
type PublicKey struct {
	Type      string `json:"kty" example:"OKP" validate:"required"`
	Curve     string `json:"crv" example:"Ed25519" validate:"required"`
	X         string `json:"x" example:"11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo" validate:"required"`
	ID        string `json:"kid" example:"kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k" validate:"required"` // RFC 7638 thumbprint
	Use       string `json:"use" example:"sig" validate:"required"`
	Algorithm string `json:"alg" example:"EdDSA" validate:"required"`
}
