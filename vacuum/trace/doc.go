// Package trace reads and writes logs of pressure against time, as gauges and
// loggers really write them.
//
// # What it reads
//
// Comma, semicolon or tab separated text, or another separator that is declared
// in the options or by a first line such as sep=|, with a header line that names
// the quantities and their units, such as
//
//	time [s],pressure [micron]
//	elapsed (min);p[Pa];temperature [°C]
//	time,pressure_mbar
//
// JSON lines with the same names as keys, and either of them compressed with
// gzip. A byte-order mark, line ends LF, CR LF or CR, a decimal comma (when the
// separator is not the comma), lines of text before the header, over-range
// words, sentinel values, blank cells, repeated or backward time stamps, gaps
// and a torn last line are all dealt with and reported with their line number.
//
// Times may be a number with a unit, h:mm:ss, a clock time that crosses
// midnight, or a time stamp (RFC 3339 and a few unambiguous relatives; day and
// month in either order with slashes are refused unless the caller gives the
// layout). Pressures are absolute, or gauge together with Options.Ambient.
//
// # What it decides, and when
//
// Separator, decimal mark, columns, units and the kind of time are decided once,
// from the first 64 KiB. A cell that later disagrees becomes an Issue and its
// row a row without a reading; nothing is guessed cell by cell. A unit that
// cannot be understood is an error that lists what is accepted, and so is a
// column of numbers such as 1,250 and 987, in which the mark may stand before
// decimals or between thousands: Options.DecimalMark decides.
//
// # What it leaves out
//
// It judges nothing: a stuck gauge is reported, not removed, and no reading is
// smoothed, interpolated or resampled. UTF-16 is refused by name. Lines are at
// most 64 KiB long.
//
// Start with Read for a whole log, or with NewReader for one of any length in
// constant memory. The rules for dirty text follow RFC 4180 (CSV), RFC 3339
// (time stamps), RFC 8259 (JSON) and the Unified Code for Units of Measure;
// spellings of the trade are common practice.
package trace
