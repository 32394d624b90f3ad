package operator

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"
)

// Health asks the service that listens on an address whether it is ready.
// Errors: the network's; one that says what the service answered.
func Health(ctx context.Context, addr string) error {
	if rest, ok := strings.CutPrefix(addr, ":"); ok {
		addr = "127.0.0.1:" + rest
	}
	ctx, cancel := context.WithTimeout(ctx, 4*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+addr+"/readyz", http.NoBody)
	if err != nil {
		return err
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return err
	}
	if resp.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s says %s", req.URL, resp.Status)
	}
	return errors.Join(err, resp.Body.Close())
}
