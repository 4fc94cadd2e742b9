package load_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/load"
	"tagd/internal/tags"
)

// TestReadPlans: rows with one load and one stop belong together, whatever the order of the rows.
func TestReadPlans(t *testing.T) {
	want := []load.Plan{
		{Date: "2026-11-30", Leaves: "06:30", Truck: "T-7", Trailer: "F-2", Limit: 40_000 * bar.Pound, Stops: []load.StopPlan{
			{Stop: load.Stop{Job: "J", ShipTo: []string{"1 Example Rd", "Sampletown"}, Contact: "A. Sample", From: "07:00", Until: "11:00"},
				Lines: []load.Line{{List: "3", Mark: "A"}, {List: "3"}}},
			{Stop: load.Stop{Processor: "Example Coater", Step: "coat"}, Bundles: bundles(1, 2)},
		}},
		{Load: truck(1), Limit: 48_000 * bar.Pound, Stops: []load.StopPlan{{Stop: load.Stop{Job: "K"}}}},
	}
	for name, file := range map[string]string{
		"commas": "load,date,leaves,truck,trailer,limit,stop,job,ship_to,contact,from,until,processor,step,list,mark,bundle\n" +
			"one,2026-11-30,06:30,T-7,F-2,\"40,000 lb\",1,J,1 Example Rd|Sampletown,A. Sample,07:00,11:00,,,3,A,\n" +
			"one,,,,,,2,,,,,,Example Coater,coat,,,1-001-00000001-31\n" +
			"4-001-00000001-83,,,,,,,K,,,,,,,,,\n" +
			"one,,,,,,1,,,,,,,,3,,\n" +
			"one,2026-11-30,,,,,2,,,,,,,,,,1-001-00000002-28\n",
		"in Spanish, semicolons, other order, stops backwards": "Carga;Parada;Obra;Procesador;Lista;Marca;Atado;Fecha;Sale;Camión;Remolque;Límite;Entrega;Contacto;Desde;Hasta;Paso\n" +
			"one;2;;Example Coater;;;1-001-00000001-31;2026-11-30;06:30;T-7;F-2;40,000 lb;;;;;coat\n" +
			"one;;;;;;1-001-00000002-28;;;;;;;;;\n" +
			"one;1;J;;3;A;;;;;;;1 Example Rd|Sampletown;A. Sample;07:00;11:00\n" +
			"one;;;;3;;;;;;;;;;;\n" +
			"4-001-00000001-83;;K;;;;;;;;;;;;;\n",
	} {
		t.Run(name, func(t *testing.T) {
			got, faults := load.ReadPlans("x.csv", []byte(file), 48_000*bar.Pound)
			require.Empty(t, faults)
			require.Equal(t, want, got.Plans)
		})
	}
}

// TestReadPlansFaults: all at once, each with its row and column.
func TestReadPlansFaults(t *testing.T) {
	for name, c := range map[string]struct{ file, fault string }{
		"no rows":           {"load,job\n", "no rows of loads"},
		"no load column":    {"job,list\nJ,3\n", "load"},
		"no load":           {"load,job\n,J\n", "row 2, load: the cell is empty"},
		"another day":       {"load,date,job\nA,2026-11-30,J\nA,2026-12-01,J\n", "row 3, date: is “2026-12-01” here and “2026-11-30” in a row above"},
		"another limit":     {"load,limit,job\nA,1 t,J\nA,2 t,J\n", "row 3, limit: is another one"},
		"a bare limit":      {"load,limit,job\nA,44000,J\n", "row 2, limit: "},
		"another address":   {"load,ship_to,job\nA,x,J\nA,y,J\n", "row 3, ship_to: is another one"},
		"no stop":           {"load,stop,job\nA,first,J\n", "row 2, stop: is “first”; write a whole number from 1 to 50"},
		"stop 51":           {"load,stop,job\nA,51,J\n", "row 2, stop: is “51”"},
		"another kind":      {"load,job\n1-001-00000001-31,J\n", "row 2, load: 1-001-00000001-31 is the number of a bundle, not of a load"},
		"no bundle":         {"load,job,bundle\nA,J,17\n", "row 2, bundle: “17” is no number of a bundle"},
		"a lot":             {"load,job,bundle\nA,J,2-001-00000001-16\n", "row 2, bundle: 2-001-00000001-16 is the number of a stock"},
		"a bundle and more": {"load,job,list,bundle\nA,J,3,1-001-00000001-31\n", "row 2, bundle: stands beside a list or mark"},
		"a mark of no list": {"load,job,mark\nA,J,M1\n", "row 2, list: the cell is empty; a mark is one of a list"},
	} {
		t.Run(name, func(t *testing.T) {
			_, faults := load.ReadPlans("x.csv", []byte(c.file), 0)
			require.NotEmpty(t, faults)
			var all []string
			for _, f := range faults {
				all = append(all, f.Error())
			}
			require.Contains(t, strings.Join(all, "\n"), c.fault)
		})
	}
}

// TestRefused: what can be read and not planned stands in its row, for every load of the file at once;
// and a bundle that two loads name is the second one's fault.
func TestRefused(t *testing.T) {
	f, faults := load.ReadPlans("x.csv", []byte(strings.Join([]string{
		"load,date,stop,job,from,until,list,mark,bundle",
		"A,,1,J,,,3,A,",
		"B,,1,J,,,,,1-001-00000004-22",
		"C,,1,J,,,,,",
		"C,,2,K,11:00,07:00,,,",
		"4-001-00000009-59,,1,J,,,,,",
		"D,,1,J,,,3,Z,",
		"E,2026-02-30,1,J,,,,,",
		"F,,1,J,,,,," + bundle(1).String(),
		"G,,1,J,,,,," + bundle(3).String(),
	}, "\n")), 0)
	require.Empty(t, faults)
	var got []string
	for _, x := range f.Refused(shop()) {
		got = append(got, strings.TrimPrefix(x.Error(), "x.csv, "))
	}
	require.Equal(t, []string{
		"row 3, bundle: 1-001-00000004-22 is voided",
		"row 5, until: 07:00 is not after 11:00",
		"row 6, load: 4-001-00000009-59 is not known here",
		"row 7, list: J / 3 / Z is not known",
		`row 8, date: "2026-02-30" is no day; write it as 2026-11-25`,
		"row 9, bundle: 1-001-00000001-31 is planned on load “A” of this file; say move to take it off that one",
		"row 10, bundle: 1-001-00000003-25 is planned on load 4-001-00000002-80; say move to take it off that one",
	}, got)
}

// FuzzReadPlans: any bytes are plans or faults; plans have stops, and numbers are those of bundles.
func FuzzReadPlans(f *testing.F) {
	f.Add([]byte("load,stop,job,list,mark,bundle\nA,1,J,3,,\nA,2,J,,,1-001-00000001-31\n"))
	f.Add([]byte("carga;obra\n4-001-00000001-83;K\n"))
	f.Add([]byte("load,limit,ship_to\nA,\"40,000 lb\",x|y\nA,,\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, faults := load.ReadPlans("x.csv", data, bar.Pound)
		if len(faults) == 0 {
			require.NotEmpty(t, file.Plans)
		}
		for _, p := range file.Plans {
			require.NotEmpty(t, p.Stops)
			require.True(t, p.Limit != 0)
			for _, s := range p.Stops {
				for _, n := range s.Bundles {
					require.Equal(t, tags.Bundle, n.Kind())
				}
			}
		}
		file.Refused(shop())
	})
}
