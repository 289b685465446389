package purge

import "reflect"

// deepCopy copies a value with everything that its exported fields point to,
// so that a change to the copy leaves the original alone. Fields that are not
// exported are copied as they are.
func deepCopy[T any](v *T) *T {
	out := new(T)
	copyInto(reflect.ValueOf(out).Elem(), reflect.ValueOf(v).Elem())
	return out
}

func copyInto(to, from reflect.Value) {
	to.Set(from)
	switch from.Kind() {
	case reflect.Pointer:
		if !from.IsNil() {
			to.Set(reflect.New(from.Type().Elem()))
			copyInto(to.Elem(), from.Elem())
		}
	case reflect.Slice:
		if !from.IsNil() {
			to.Set(reflect.MakeSlice(from.Type(), from.Len(), from.Len()))
			for i := range from.Len() {
				copyInto(to.Index(i), from.Index(i))
			}
		}
	case reflect.Struct:
		for i := range from.NumField() {
			if from.Type().Field(i).IsExported() {
				copyInto(to.Field(i), from.Field(i))
			}
		}
	}
}
