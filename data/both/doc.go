// Package both runs the tests of package data again, with every log that is not
// about a file on a PostgreSQL server, and where servers divide the builds.
package both
