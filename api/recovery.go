package api

import "net/http"

// NewPassphrase is what changing a passphrase takes.
type NewPassphrase struct {
	Old string `json:"old" example:"rhubarb under seven lids" format:"password" validate:"required"`
	New string `json:"new" example:"eleven snails in the rain" format:"password" minLength:"15" maxLength:"256" validate:"required"`
}

// changePassphrase gives the caller's account another passphrase.
//
//	@Summary		Change my passphrase
//	@Description	Ends all other sessions of the account; the one that calls goes on.
//	@ID				changePassphrase
//	@Tags			accounts
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			passphrase						body		NewPassphrase	true	"the old passphrase and the new one"
//	@Success		200								{object}	EndedSessions
//	@Failure		400,401,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/me/passphrase [post]
func (s *Server) changePassphrase(r *request) (answer, error) {
	in, err := decode[NewPassphrase](r)
	if err != nil {
		return answer{}, err
	}
	if err := r.knock(string(r.account)); err != nil {
		return answer{}, err
	}
	n, err := s.Accounts.ChangePassphrase(r.ctx, r.bearer(), in.Old, in.New)
	return answer{status: http.StatusOK, body: EndedSessions{n}}, err
}

// NewRecoveryRequest is what asking for a recovery code takes.
type NewRecoveryRequest struct {
	Email string `json:"email" example:"ana@example.org" format:"email" validate:"required"`
}

// RecoveryRequest says that a request for a recovery code was noted.
type RecoveryRequest struct {
	Status string `json:"status" example:"noted" enums:"noted" validate:"required"`
}

// requestRecovery asks for a recovery code by mail.
//
//	@Summary		Ask for a recovery code by mail
//	@Description	Sends a code, good for one use within an hour, to the address if an account has it; the answer is the same if none has. A service that sends no mail answers 403: its operator gives out codes.
//	@ID				requestRecovery
//	@Tags			accounts
//	@Accept			json
//	@Produce		json
//	@Param			request							body		NewRecoveryRequest	true	"whose passphrase is lost"
//	@Success		202								{object}	RecoveryRequest
//	@Failure		400,403,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/recoveries/requests [post]
func (s *Server) requestRecovery(r *request) (answer, error) {
	in, err := decode[NewRecoveryRequest](r)
	if err != nil {
		return answer{}, err
	}
	if err := r.knock(in.Email); err != nil {
		return answer{}, err
	}
	return answer{status: http.StatusAccepted, body: RecoveryRequest{"noted"}}, s.Recoveries.Request(in.Email)
}

// NewRecovery is what recovering an account takes.
type NewRecovery struct {
	Code       string `json:"code" example:"7S6BM4X0PRZ5ZC3D80KQ3BXEKGZ3SCB3CT8Y9XK1K4VHE0QN1ZJ6TR40WG" validate:"required"`
	Passphrase string `json:"passphrase" example:"eleven snails in the rain" format:"password" minLength:"15" maxLength:"256" validate:"required"`
}

// recoverAccount sets a new passphrase by a recovery code.
//
//	@Summary		Set a new passphrase by a recovery code
//	@Description	The code comes from the operator or by mail and is good for one use. All sessions of the account end; sign in with the new passphrase.
//	@ID				recoverAccount
//	@Tags			accounts
//	@Accept			json
//	@Produce		json
//	@Param			recovery						body		NewRecovery	true	"the code and the new passphrase"
//	@Success		200								{object}	EndedSessions
//	@Failure		400,404,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/recoveries [post]
func (s *Server) recoverAccount(r *request) (answer, error) {
	in, err := decode[NewRecovery](r)
	if err != nil {
		return answer{}, err
	}
	if err := r.knock(""); err != nil {
		return answer{}, err
	}
	n, err := s.Recoveries.Recover(r.ctx, in.Code, in.Passphrase)
	return answer{status: http.StatusOK, body: EndedSessions{n}}, err
}
