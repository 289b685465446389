package main

// minimalJob is the smallest job that runs; -h shows it and a test runs it.
const minimalJob = `{
  "name": "split unit, first floor",
  "site": {"altitude": "120 m", "temperature": "24 °C", "humidity": "65 %"},
  "nodes": [
    {"name": "circuit", "volume": "8 L",
     "puddles": [{"name": "low spot", "water": "2 g", "area": "30 cm²", "metal": "0.2 W/K", "film": "8 mm"}]},
    {"name": "pump inlet", "volume": "0.2 L"}
  ],
  "links": [
    {"name": "hose", "from": "circuit", "to": "pump inlet",
     "passage": [{"core_tool": {}}, {"hose": {"bore": "7.9 mm", "length": "1.5 m"}}]}
  ],
  "pump": {"node": "pump inlet", "valve": "hose", "displacement": "6 CFM", "blank_off": "25 micron"},
  "gauge": {"node": "circuit"},
  "procedures": [
    {"name": "deep pull", "steps": [
      {"pull": {"until": "500 micron", "for": "15 min"}}, {"isolate": {}}, {"watch": {"for": "15 min"}}
    ]}
  ]
}
`

// helpText is what -h prints.
func helpText() string { return usage + minimalJob }

const usage = `Usage: evacuation [flags]

Works out how procedures for drying and evacuating a refrigeration circuit compare: how much water is left and
where, how long each takes, how much nitrogen it uses; and what a recorded rise test shows. Without flags it runs
an invented scenario. With -log and no -job it judges the record alone.

Flags
  -job FILE       your job in JSON, see below
  -log FILE       your rise record: comma, semicolon or tab separated text with a header that names the units,
                  such as "time [s];pressure [micron]"; decimal comma is fine where the separator is none; a
                  column "temperature [°C]" makes the verdict sharper
  -out DIR        where report.html (one page with everything in it), report.md, tables (CSV) and pictures (SVG,
                  PNG, in words TXT) go; default ./drydown-out; files of the same name are replaced

How thoroughly the job is looked into:
  -band N         run each procedure N times with its poorly known inputs drawn at random, N 2 or more; default
                  200, 0 for none
  -drivers N      rows of the study of which inputs drive the better procedure: N (k + 2) runs for k inputs, N 8
                  or more; default 40, 0 for none
  -plan           look for the fastest plan that meets the job's dryness limit, and what another rig would buy
  -spreads FILE   how poorly inputs are known, where you know better than the defaults that report.md lists:
                  {"spreads": [{"input": "water in low spot", "kind": "lognormal", "low": 0.3, "high": 3}]}
                  low and high are factors on the job's number; kinds: uniform, log-uniform, triangular between
                  them, lognormal with 95 % between them
  -stream N       which random numbers; the same N gives the same answer; default 1

For the rise record, where the job does not say it:
  -volume V       isolated volume with its unit, such as "12 L"; default: everything in the job that stays joined
                  to the gauge with the pump's valve shut
  -temperature T  of the circuit, such as "24 °C"; default: the job's site
  -leak-limit Q   the leak that matters, such as "5e-5 Pa·m³/s", or the rise it makes in the isolated volume, such
                  as "1 micron/min"; default: the job's leak_limit
  -ambient P      ambient pressure, such as "1003 hPa", for a log in gauge pressure (psig, inHg vac) without a job;
                  or -altitude H, such as "250 m"; default: the job's site
  -log-pressure-unit U, -log-time-unit U
                  units where the header names none, such as micron and s

Exit codes: 0 done, 1 bad input or files that cannot be written, 2 bad flags, 130 interrupted (what was computed
until then is reported).

The job. Quantities are text with a unit, never bare numbers. Pressures are absolute ("500 micron", "1.2 bar") or,
where marked (g), gauge as well ("3 psig", "10 bar gauge"). Bores are inner diameters. * marks what is needed.

  name*           free text                              note            where the numbers come from
  site*           altitude ("120 m") or barometer ("1003 hPa"); temperature ("24 °C"); humidity ("65 %")
  charge          refrigerant, mass ("3.4 kg")           dryness_limit   water per charge ("30 mg/kg")
  leak_limit      throughput ("3e-5 Pa·m³/s")            rating (g)      of the weakest part; needed for nitrogen
  system          the node that counts as the system; default the first
  nodes*          name*, volume* ("8 L"), temperature ("5 °C", default the site's), holds "air" (humid air of the
                  site, default), "nitrogen" (dry) or "vacuum"; puddles of free water: name*, water* ("2 g"), area* of
                  the surface ("30 cm²"), heat to it by metal ("0.2 W/K") or across a gas-filled gap ("3 mm") or both,
                  film of still gas above it ("8 mm") or bore of the channel around it ("22 mm") or both, fade, the
                  mass over which the last of it fades out ("10 mg"); oils with dissolved water: name*, mass*, water*
                  per oil ("120 mg/kg"), saturation*, the content at two temperatures [{"temperature": "20 °C",
                  "content": "1200 mg/kg"}, ...] from the oil's data sheet, exchange*, the time constant ("6 h")
  links*          name*, from*, to*, passage*: parts in series, each one of
                  {"tube": {"bore": "8 mm", "length": "3 m"}}, {"hose": {"bore", "length"}},
                  {"capillary": {"bore", "length"}}, {"ball_valve": {"bore", "length"}},
                  {"orifice": {"bore": "1.2 mm"}}, {"valve_core": {}}, {"core_tool": {}} (core taken out) or
                  {"core_tool": {"core_in": true}}; closed: true keeps it shut until a changeover
  pump*           node*; valve, the link that shuts it off; displacement ("6 CFM") or curve, its measured speed
                  [{"pressure": "10 Pa", "speed": "4 CFM"}, ...]; blank_off* ("25 micron"); ballast_blank_off and
                  vapour_tolerance with the gas ballast open ("400 micron", "15 mbar"); exhaust_temperature ("70 °C");
                  return, the gas that comes back at the blank-off: "air" (default), "nitrogen" or "none"; oil that
                  takes up water and lifts the blank-off: mass* ("0.5 kg"), saturation* as of the oils above, water
                  ("200 mg/kg"), temperature ("60 °C")
  gauge*          node*, valve, the link in front of it that is shut above ambient; resolution ("1 micron"); ceiling
                  and bottom, the highest and lowest pressure it shows ("20000 micron"); thermal: true for a thermal
                  gauge set up for air, which shows water vapour twice too high
  nitrogen        node*, flow* with its reference state ("20 NL/min" is at 0 °C and 101325 Pa, "1 scfm (70 °F)"),
                  moisture ("5 µmol/mol")
  vent            node*, passage*: the way to open air, needed for sweep and bleed
  leak            node*, rate* into vacuum ("1e-5 Pa·m³/s"), when one is assumed
  procedures*     name, steps*: each one of
                  {"sweep": {"for": "5 min", "nitrogen": "100 NL", "dew_point": "-20 °C", "flow": "20 NL/min"}}
                  (ends with the first of for, amount and dew point of the leaving gas)
                  {"pull": {"until": "500 micron", "at": node, "at_most": "4 h", "for": "15 min",
                            "ballast_above": "1500 micron"}} (until and ballast_above (g); for: go on that long;
                  until lies between the gauge's bottom and ceiling, unless at names another node)
                  {"break": {"to": "3 psig", "nitrogen", "flow", "at_most"}} (to (g))      {"hold": {"for": "10 min"}}
                  {"bleed": {"to": (g), "at_most"}}      {"isolate": {}}      {"watch": {"for": "15 min"}}
                  {"changeover": {"link": name, "for": "1 min"}} opens a closed link, such as a charging hose
                  and a step may have a "name" and "warm": [{"node": name, "to": "45 °C"}], heat from this step on

A minimal job:

`
