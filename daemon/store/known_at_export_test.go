package store

// Fresh gives where a new database may be, by the name of its dialect.
var Fresh = fresh
