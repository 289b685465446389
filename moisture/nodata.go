package moisture

import (
	"errors"
	"fmt"
)

// ErrNoData marks a question that needs a number which neither the caller gave nor
// a source was read for. It is never answered with zero.
var ErrNoData = errors.New("no data")

// missing reports what there is no number for.
func missing(what string) error { return fmt.Errorf("%s: %w", what, ErrNoData) }
