package bookfile

import (
	"errors"
	"fmt"
	"reflect"
	"regexp"
	"strconv"
	"strings"
)

// column is one column of a table, by reflection on its row's type.
type column struct {
	name     string
	field    int
	part     bool // tells of one item of a record
	optional bool // may be missing in a file
}

// columnsOf lists the columns of a row type.
func columnsOf(row reflect.Type) []column {
	var out []column
	for i := range row.NumField() {
		tag := row.Field(i).Tag
		name, _, _ := strings.Cut(tag.Get("json"), ",")
		out = append(out, column{name, i, tag.Get("part") != "", tag.Get("optional") != ""})
	}
	return out
}

// cellOf writes a value as a cell; what isn't told is empty.
func cellOf(v reflect.Value) string {
	switch v := v.Interface().(type) {
	case string:
		return Neutral(v)
	case []string:
		parts := make([]string, len(v))
		for i, s := range v {
			parts[i] = escaped(s, ";")
		}
		return Neutral(strings.Join(parts, ";"))
	}
	if v.Kind() == reflect.Pointer {
		return plain(v)
	}
	parts := make([]string, v.Len())
	for i := range parts {
		parts[i] = compound(v.Index(i))
	}
	return Neutral(strings.Join(parts, ";"))
}

// plain writes a number or a yes or no.
func plain(v reflect.Value) string {
	switch v := v.Interface().(type) {
	case *float64:
		if v != nil {
			return strconv.FormatFloat(*v, 'f', -1, 64)
		}
	case *int64:
		if v != nil {
			return strconv.FormatInt(*v, 10)
		}
	case *bool:
		if v != nil {
			return strconv.FormatBool(*v)
		}
	}
	return ""
}

// separatorOf returns what stands between the members of a compound.
func separatorOf(t reflect.Type) string { return t.Field(0).Tag.Get("sep") }

// compound writes a leftover, a sample, a step …; trailing members that aren't told are
// left out.
func compound(v reflect.Value) string {
	sep := separatorOf(v.Type())
	out := escaped(v.Field(0).String(), sep+";")
	empty := ""
	for i := 1; i < v.NumField(); i++ {
		empty += sep
		cell := plain(v.Field(i))
		if v.Field(i).Kind() == reflect.String {
			cell = escaped(v.Field(i).String(), sep+";")
		}
		if cell != "" {
			out += empty + cell
			empty = ""
		}
	}
	return out
}

// escaped puts a backslash before separators and backslashes of a text.
func escaped(text, separators string) string {
	var b strings.Builder
	for _, r := range text {
		if r == '\\' || strings.ContainsRune(separators, r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}

// split parts a text at separators that have no backslash before them; the
// backslashes stay.
func split(text, separator string) []string {
	var out []string
	begin, skip := 0, false
	for i := range len(text) {
		switch {
		case skip:
			skip = false
		case text[i] == '\\':
			skip = true
		case text[i] == separator[0]:
			out = append(out, text[begin:i])
			begin = i + 1
		}
	}
	return append(out, text[begin:])
}

// unescaped undoes escaped.
func unescaped(text string) string {
	var b strings.Builder
	skip := false
	for _, r := range text {
		if r == '\\' && !skip {
			skip = true
			continue
		}
		skip = false
		b.WriteRune(r)
	}
	return b.String()
}

// setCell reads a cell into a row's field. Errors: what would be right, for
// people to read.
func setCell(into reflect.Value, cell string) error {
	if cell == "" {
		return nil
	}
	switch into.Interface().(type) {
	case string:
		into.SetString(restored(cell))
		return nil
	case []string:
		for _, part := range split(restored(cell), ";") {
			into.Set(reflect.Append(into, reflect.ValueOf(unescaped(part))))
		}
		return nil
	}
	if into.Kind() == reflect.Pointer {
		return setPlain(into, cell)
	}
	for _, part := range split(restored(cell), ";") {
		one := reflect.New(into.Type().Elem()).Elem()
		if err := setCompound(one, part); err != nil {
			return err
		}
		into.Set(reflect.Append(into, one))
	}
	return nil
}

// setPlain reads a number or a yes or no. Errors: what would be right.
func setPlain(into reflect.Value, cell string) error {
	switch into.Interface().(type) {
	case *float64:
		x, err := number(cell)
		if err != nil {
			return err
		}
		into.Set(reflect.ValueOf(&x))
	case *int64:
		n, err := strconv.ParseInt(cell, 10, 64)
		if err != nil {
			return fmt.Errorf("%q isn't a whole number; write one as 1500", cell)
		}
		into.Set(reflect.ValueOf(&n))
	case *bool:
		if cell != "true" && cell != "false" {
			return fmt.Errorf("%q is neither true nor false; write one of them", cell)
		}
		yes := cell == "true"
		into.Set(reflect.ValueOf(&yes))
	}
	return nil
}

// setCompound reads a leftover, a sample, a step …. Errors: what would be right.
func setCompound(into reflect.Value, text string) error {
	sep := separatorOf(into.Type())
	parts := split(text, sep)
	columns := columnsOf(into.Type())
	if len(parts) < 2 || len(parts) > len(columns) {
		var names []string
		for _, c := range columns {
			names = append(names, c.name)
		}
		return fmt.Errorf("%q should be %s; write several with ; between them", text, strings.Join(names, sep))
	}
	into.Field(0).SetString(unescaped(parts[0]))
	for i, part := range parts[1:] {
		if part == "" {
			continue
		}
		if into.Field(i+1).Kind() == reflect.String {
			into.Field(i + 1).SetString(unescaped(part))
			continue
		}
		if err := setPlain(into.Field(i+1), part); err != nil {
			return fmt.Errorf("%s: %w", columns[i+1].name, err)
		}
	}
	return nil
}

var (
	pointForm = regexp.MustCompile(`^[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?$`)
	commaForm = regexp.MustCompile(`^[+-]?[0-9]+,[0-9]+$`)
	groupForm = regexp.MustCompile(`^[+-]?[1-9][0-9]{0,2},[0-9]{3}$`)
)

// number reads a number with a decimal point, or with a decimal comma where it
// can't be a separator of thousands. Errors: what would be right.
func number(cell string) (float64, error) {
	text := cell
	switch {
	case groupForm.MatchString(cell):
		return 0, fmt.Errorf("%q may mean two numbers; write %s or %s", cell, strings.Replace(cell, ",", "", 1), strings.Replace(cell, ",", ".", 1))
	case commaForm.MatchString(cell):
		text = strings.Replace(cell, ",", ".", 1)
	case !pointForm.MatchString(cell):
		return 0, fmt.Errorf("%q isn't a number; write one as 1500 or 1.5, without spaces, units or separators of thousands", cell)
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, errors.New("the number is too large")
	}
	return x, nil
}
