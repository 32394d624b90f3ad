package repo

import "database/sql"

// Pools tells how the connections to the database are used, by the name of their
// pool: read and write on SQLite, one on PostgreSQL.
func (s *Store) Pools() map[string]sql.DBStats {
	if s.read == s.write {
		return map[string]sql.DBStats{"all": s.write.Stats()}
	}
	return map[string]sql.DBStats{"read": s.read.Stats(), "write": s.write.Stats()}
}
