// Package faults breaks the program from outside, as a user's machine would:
// it is killed, its disk is full, its folder is read-only, its log is something
// else. It holds tests only; they build the program and run it in processes of
// its own.
//
//   - kill_test.go kills commands at random instants and sets the log beside
//     what had been acknowledged by then (ledger_test.go): all of a command or
//     nothing of it, and all of it once the command said so.
//   - sync_test.go follows the system calls of each kind of write: data reaches
//     the disk before the name that shows it, and before the program says that
//     it is done.
//   - full_test.go fills the disk, wrong_test.go offers logs and folders that
//     cannot be used. The messages stand in the tests as a maker reads them.
//
// Loss of power itself was not tested. A killed program loses what it held, but
// not what it had handed to the system; a machine without power loses that too.
// What is shown for it is the order of syncs, which is right if the disk and
// its file system keep what they say they have. The log's folder is synced for
// files that this program writes, but not for the log's write-ahead log, which
// DuckDB makes and removes: that its name lasts, once its content was synced,
// is a promise of the common file systems, not of POSIX.
package faults
