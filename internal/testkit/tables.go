package testkit

import (
	"database/sql"
	"fmt"
	"strings"
	"testing"
	"time"
)

// Column is one column of a database, as the database itself describes it.
type Column struct {
	Table, Name, Type string
	Parent, ParentCol string // what it refers to, "" for nothing
}

// Columns lists every column of every table, parents before children: what a test asks of all of
// them is asked of one that is added later too.
func Columns(t testing.TB, db *sql.DB) []Column {
	t.Helper()
	left := texts(t, db, "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'goose_%' AND name NOT LIKE 'sqlite_%' ORDER BY name")
	done := map[string]bool{}
	var out []Column
	for len(left) > 0 {
		var later []string
		for _, table := range left {
			cols := columnsOf(t, db, table)
			if ready(cols, done) {
				out, done[table] = append(out, cols...), true
			} else {
				later = append(later, table)
			}
		}
		if len(later) == len(left) {
			t.Fatalf("tables refer to each other in a ring: %v", left)
		}
		left = later
	}
	return out
}

func ready(cols []Column, done map[string]bool) bool {
	for _, c := range cols {
		if c.Parent != "" && c.Parent != c.Table && !done[c.Parent] {
			return false
		}
	}
	return true
}

func columnsOf(t testing.TB, db *sql.DB, table string) []Column {
	t.Helper()
	var out []Column
	for _, line := range texts(t, db, `SELECT c.name || ' ' || c.type || ' ' || coalesce(f."table", '') || ' ' || coalesce(f."to", '')
		FROM pragma_table_info(?1) c LEFT JOIN pragma_foreign_key_list(?1) f ON f."from" = c.name ORDER BY c.cid`, table) {
		p := strings.Split(line, " ")
		out = append(out, Column{Table: table, Name: p[0], Type: p[1], Parent: p[2], ParentCol: p[3]})
	}
	return out
}

func texts(t testing.TB, db *sql.DB, query string, args ...any) []string {
	t.Helper()
	rows, err := db.Query(query, args...)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var out []string
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			t.Fatal(err)
		}
		out = append(out, s)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

// times names the columns that hold an instant.
const times = " saved opened closed made added received started ended given withdrawn paired seen put_out expires expiry "

// Fill puts one row into every table. Each text says where it stands ("tag.table.column"), numbers
// and instants are all different, references lead to the row of the same tag. say gives the values
// of columns ("table.column") that must be something special. It returns all values by
// "table.column".
func Fill(t testing.TB, db *sql.DB, tag string, number int64, say map[string]any) map[string]any {
	t.Helper()
	all := map[string]any{}
	cols := Columns(t, db)
	for i := 0; i < len(cols); {
		table := cols[i].Table
		var names, marks []string
		var values []any
		for ; i < len(cols) && cols[i].Table == table; i++ {
			c := cols[i]
			number++
			v := value(c, tag, number)
			if c.Parent != "" {
				v = all[c.Parent+"."+c.ParentCol]
			}
			if given, ok := say[table+"."+c.Name]; ok {
				v = given
			}
			all[table+"."+c.Name] = v
			names, marks, values = append(names, c.Name), append(marks, "?"), append(values, v)
		}
		if _, err := db.Exec(fmt.Sprintf("INSERT INTO %q (%s) VALUES (%s)", table, strings.Join(names, ", "), strings.Join(marks, ", ")), values...); err != nil {
			t.Fatalf("%s: %v", table, err)
		}
	}
	return all
}

func value(c Column, tag string, number int64) any {
	text := tag + "." + c.Table + "." + c.Name
	switch {
	case c.Type == "INTEGER":
		return number
	case c.Type == "REAL":
		return float64(number) + 0.25
	case c.Type == "BLOB":
		return []byte(text)
	case strings.Contains(times, " "+c.Name+" "):
		return time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC).Add(time.Duration(number) * time.Second).Format("2006-01-02T15:04:05.000000000Z")
	case c.Name == "date":
		return fmt.Sprintf("2026-06-%02d", 1+number%28)
	}
	return text
}
