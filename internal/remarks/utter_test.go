package remarks

import (
	"encoding/csv"
	"fmt"
	"os"
	"testing"

	"ringcraft/internal/terms"
)

func TestUtter(t *testing.T) {
	name := os.Getenv("UTTER")
	if name == "" {
		return
	}
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	recs, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var tl [2]tally
	for i, r := range recs[1:] {
		l := label0{text: r[0], faults: faultList(t, r[2])}
		got := FaultsIn(r[0], []terms.Kind{terms.Kind(r[1])})
		rem := Remark{Text: r[0], Faults: got}
		tl[i%2].faultsOf(l, rem, r[0], nil)
		if os.Getenv("HALF") == fmt.Sprint(i%2) || os.Getenv("HALF") == "all" {
			ids := []string{}
			for _, g := range got {
				ids = append(ids, fmt.Sprint(g))
			}
			fmt.Printf("ROW|%s|%s|%s|%v\n", r[2], r[1], r[0], ids)
		}
	}
	fmt.Println("MEND", tl[0].String())
	fmt.Println("CHECK", tl[1].String())
}
