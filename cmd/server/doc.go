// Package server runs the program against logs on a PostgreSQL server, as the
// workshops of a guild would. It holds tests only; they build the program, start
// a server (data/postgres/node) and run both in processes of their own.
//
//   - same_test.go sets what every command says of a log on a server beside what
//     it says of the same rows in a file.
//   - workshops_test.go looks from one workshop for the rows of another, and for
//     passwords in whatever is said.
//   - writers_test.go has many programs write at once.
//   - shards_test.go divides the builds among servers, and moves them.
//   - restart_test.go kills the server under a command and under the bench page.
package server
