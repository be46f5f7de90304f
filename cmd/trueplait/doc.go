// Trueplait keeps planned against measured for every whip, works out how far
// each maker and each batch of cord and shot is off, and corrects the plan by
// it.
//
//	trueplait COMMAND [options]
//
// Rows come in as CSV or workbooks, with units as makers write them:
//
//	trueplait check builds.csv            what import would do
//	trueplait import builds.csv fills.csv into workshop.duckdb, all or nothing
//	trueplait export DIR                  back to the same CSV
//
// Or one at a time, at the bench, by options or answers:
//
//	trueplait build                       a finished whip; --edit corrects one
//	trueplait fill                        a test fill of a core batch
//	trueplait cord                        a cord check of a strand batch
//	trueplait serve                       a page for all of it, for a phone too
//
// What is learnt:
//
//	trueplait calibrate                   factors with 95 % limits, saved and numbered
//	trueplait factors                     the same, only shown
//	trueplait proof                       whether predictions got better
//	trueplait consistency                 whether each product is made alike
//	trueplait report                      all of it on one HTML page
//
// What follows for the next whip:
//
//	trueplait plan --product NAME         shot, load, cuts, weight, balance
//	trueplait promise --product NAME      the weight and length to promise
//
// That it lasts:
//
//	trueplait backup FILE                 a copy of the log, also while the page runs
//	trueplait verify                      the log against everything it was made from
//
// For many workshops on one PostgreSQL server, by who keeps it:
//
//	trueplait server setup                its tables, on one server or several
//	trueplait server workshop NAME        a role that sees its own rows only
//
// To look around: trueplait demo makes an invented shop.
//
// The log is --log PATH, or $TRUEPLAIT_LOG, or workshop.duckdb. On a server it is
// postgres://ROLE@HOST:PORT/DATABASE, with the password in PGPASSWORD or in the
// file that PGPASSFILE names, never in the address. The commands that learn take --from FILE instead, and leave nothing behind. Options stand
// before or after the command; each command's --help has an example.
//
// The answer goes to standard output as a table or, with --json, as JSON;
// progress, warnings and problems go to standard error. Exit codes: 0 done, 1
// the data or a file is at fault, 2 wrong usage, 3 a limit asked for cannot be
// met (the answer is printed), 130 interrupted.
package main
