package main

const usage = `Usage: risetest [flags] [FILE]

Says what a recorded pressure rise after isolation from the pump proves: tight, leaking, wet, both, or not decided,
with the evidence, the leak with its interval, what would settle it and how long the record should have run. A
record that falls to half or less is read as a pull-down. Without a file it judges an invented record.

Flags. Quantities have units: "12 L", "24 °C". Pressures are absolute unless said otherwise.
  -log FILE       the record, as FILE: comma, semicolon or tab separated text with a header that names the units,
                  such as "time [s];pressure [micron]"; a column "temperature [°C]" makes the verdict sharper
  -volume V       isolated volume, such as "12 L"; needed
  -temperature T  of the circuit, such as "24 °C"; needed
  -leak-limit Q   the leak that matters; needed for a rise: a leak ("5e-5 Pa·m³/s"), the rise that it makes in the
                  isolated volume ("1 micron/min"), or, with a refrigerant, a loss in service ("5 g/year")
  -resolution P   step of the gauge's display, such as "1 micron"; default: the smallest step in the record
  -refrigerant R  such as R-410A, to word a leak as a loss per year; with it
  -service-pressure P
                  pressure of the refrigerant where it would leak, absolute or gauge, such as "16 bar gauge"
  -ambient P      ambient pressure, such as "1003 hPa"; or -altitude H, such as "250 m"; needed for a log in gauge
                  pressure (psig, inHg vac); default 1013.25 hPa otherwise
  -log-pressure-unit U, -log-time-unit U
                  units where the header names none, such as micron and s
  -settles-in T, -settles-by P
                  how the two sides of the circuit should settle after isolation, by a model of it: time constant and
                  final change of the reading, such as "4 min" and "80 micron", or "-80 micron" where it falls; the time
                  may be 1.5 times and the change 3 times smaller or larger
  -target P       for a pull-down: the pressure to reach; default "500 micron"
  -blank-off P    for a pull-down: lowest pressure of the pump with fresh oil, such as "25 micron"; default: not known
  -out DIR        write pictures there (SVG, PNG, their data in CSV, in words TXT); default: none; files of the same
                  name are replaced

Exit codes: 0 done, 1 bad input or files that cannot be written, 2 bad flags.

Example
  risetest -volume "8 L" -temperature "21 °C" -leak-limit "1 micron/min" -out pictures my-rise.csv
`
