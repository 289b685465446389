package purge

import (
	"bytes"
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
)

// ErrJob is what errors.Is finds in every error about a job's text: a torn
// file, an unknown or repeated field, a value that does not parse.
var ErrJob = errors.New("job not usable")

// jobError places an error at a field.
func jobError(path, format string, args ...any) error {
	return fmt.Errorf("%w: %s: %w", ErrJob, path, fmt.Errorf(format, args...))
}

// decode reads JSON into a struct as encoding/json would, but names the field
// in every error, refuses fields it does not know and lists those it does, and
// misses every field whose tag does not say omitempty or omitzero.
func decode(r io.Reader, into any) error {
	raw, err := io.ReadAll(io.LimitReader(r, maxJobBytes+1))
	if err != nil {
		return fmt.Errorf("%w: %w", ErrJob, err)
	}
	if len(raw) > maxJobBytes {
		return fmt.Errorf("%w: more than %d bytes", ErrJob, maxJobBytes)
	}
	raw = bytes.TrimPrefix(raw, []byte("\xef\xbb\xbf"))
	if len(bytes.TrimSpace(raw)) == 0 {
		return fmt.Errorf("%w: the file is empty", ErrJob)
	}
	if !json.Valid(raw) {
		return syntaxError(raw)
	}
	return decodeValue("job", raw, reflect.ValueOf(into).Elem())
}

// maxJobBytes bounds a job file; a large network of a thousand nodes takes
// about 200 kB.
const maxJobBytes = 16 << 20

// syntaxError says in which line the JSON breaks.
func syntaxError(raw []byte) error {
	var v any
	err := json.Unmarshal(raw, &v)
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		at := min(int(syntax.Offset), len(raw))
		line := 1 + bytes.Count(raw[:at], []byte("\n"))
		return fmt.Errorf("%w: line %d: %w", ErrJob, line, err)
	}
	return fmt.Errorf("%w: %w", ErrJob, err)
}

// decodeValue reads one value; path is its place for error texts.
func decodeValue(path string, raw json.RawMessage, v reflect.Value) error {
	if bytes.Equal(bytes.TrimSpace(raw), []byte("null")) {
		return jobError(path, "null is not a value; leave the field out")
	}
	if _, text := v.Addr().Interface().(encoding.TextUnmarshaler); text {
		err := json.Unmarshal(raw, v.Addr().Interface())
		var wrongType *json.UnmarshalTypeError
		switch {
		case errors.As(err, &wrongType):
			return jobError(path, "%s", wrongType.Value)
		case err != nil:
			return jobError(path, "%w", err)
		}
		return nil
	}
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		return decodeValue(path, raw, v.Elem())
	case reflect.Struct:
		return decodeStruct(path, raw, v)
	case reflect.Slice:
		return decodeSlice(path, raw, v)
	}
	if err := json.Unmarshal(raw, v.Addr().Interface()); err != nil {
		return jobError(path, "%s is not a %s", bytes.TrimSpace(raw), kindWord(v.Kind()))
	}
	return nil
}

// kindWord is a Go kind in a writer's words.
func kindWord(k reflect.Kind) string {
	switch k {
	case reflect.String:
		return `text in quotes`
	case reflect.Bool:
		return "true or false"
	}
	return "number"
}

// decodeSlice reads a JSON array.
func decodeSlice(path string, raw json.RawMessage, v reflect.Value) error {
	var items []json.RawMessage
	if err := json.Unmarshal(raw, &items); err != nil {
		return jobError(path, "expected a list in [ ]")
	}
	v.Set(reflect.MakeSlice(v.Type(), len(items), len(items)))
	for i, item := range items {
		if err := decodeValue(fmt.Sprintf("%s[%d]", path, i+1), item, v.Index(i)); err != nil {
			return err
		}
	}
	return nil
}

// field is one field of a struct as the JSON names it.
type field struct {
	name     string
	index    int
	optional bool
}

// fieldsOf lists the fields of a struct by name.
func fieldsOf(t reflect.Type) []field {
	var list []field
	for i := range t.NumField() {
		name, options, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if name != "" && name != "-" {
			list = append(list, field{name, i, strings.HasPrefix(options, "omit")})
		}
	}
	slices.SortFunc(list, func(a, b field) int { return strings.Compare(a.name, b.name) })
	return list
}

// decodeStruct reads a JSON object field by field, in the order of the text.
func decodeStruct(path string, raw json.RawMessage, v reflect.Value) error {
	fields := fieldsOf(v.Type())
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.name
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	if open, err := dec.Token(); err != nil || open != json.Delim('{') {
		return jobError(path, "expected an object in { } with %s", strings.Join(names, ", "))
	}
	seen := map[string]bool{}
	for dec.More() {
		token, err := dec.Token()
		if err != nil {
			return jobError(path, "%w", err)
		}
		name, _ := token.(string)
		var value json.RawMessage
		if err := dec.Decode(&value); err != nil {
			return jobError(path+"."+name, "%w", err)
		}
		i := slices.Index(names, name)
		switch {
		case i < 0:
			return jobError(path, "unknown field %q, accepted are %s", name, strings.Join(names, ", "))
		case seen[name]:
			return jobError(path, "field %q appears twice", name)
		}
		seen[name] = true
		if err := decodeValue(path+"."+name, value, v.Field(fields[i].index)); err != nil {
			return err
		}
	}
	for _, f := range fields {
		if !f.optional && !seen[f.name] {
			return jobError(path, "field %q is missing", f.name)
		}
	}
	return nil
}
