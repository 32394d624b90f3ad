package repo

import (
	"context"
	"database/sql"
	"fmt"
)

// appRole is the PostgreSQL role under which the program works. It owns
// nothing, so that row-level security binds it, whoever the address signs in.
const appRole = "lumbricary_app"

// grantLock is the advisory lock of grantRole: starts at the same time would
// change the same catalogue rows.
const grantLock = 7_308_604

// The grants, on the tables and sequences of the schema in use.
const (
	grantTables    = `GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA %[1]s TO ` + appRole
	grantSequences = `GRANT USAGE ON ALL SEQUENCES IN SCHEMA %[1]s TO ` + appRole
	grantSchema    = `GRANT USAGE ON SCHEMA %[1]s TO ` + appRole
	grantVersion   = `REVOKE INSERT, UPDATE, DELETE ON goose_db_version FROM ` + appRole
)

// grantRole makes the application's role where it is missing and gives it what
// it needs on the tables. Where nothing is missing it changes nothing, so that
// a user without further rights can start a database that was prepared. Errors:
// one that says what the user of the address may not do; the driver's.
func grantRole(ctx context.Context, owner *sql.DB) error {
	tx, err := owner.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // after a commit it does nothing
	if _, err := tx.ExecContext(ctx, `SELECT pg_advisory_xact_lock($1)`, grantLock); err != nil {
		return err
	}
	if err := makeRole(ctx, tx); err != nil {
		return err
	}
	if err := grant(ctx, tx); err != nil {
		return err
	}
	return tx.Commit()
}

// makeRole makes the role and lets the user of the address take it. Errors: one
// that says what that user may not do.
func makeRole(ctx context.Context, tx *sql.Tx) error {
	var there, above, taken bool
	err := tx.QueryRowContext(ctx, `
		SELECT count(*) > 0, COALESCE(bool_or(rolsuper OR rolbypassrls), false),
		       COALESCE(bool_or(pg_has_role(oid, 'MEMBER')), false)
		FROM pg_roles WHERE rolname = $1`, appRole).Scan(&there, &above, &taken)
	switch {
	case err != nil:
		return err
	case above:
		return fmt.Errorf("repo: role %s can bypass row-level security: ALTER ROLE %[1]s NOSUPERUSER NOBYPASSRLS", appRole)
	case taken:
		return nil
	}
	if !there {
		if _, err := tx.ExecContext(ctx, `CREATE ROLE `+appRole+` NOLOGIN`); err != nil {
			return fmt.Errorf("repo: role %s is missing and the database user may not make it; as an administrator: CREATE ROLE %[1]s NOLOGIN: %w", appRole, err)
		}
	}
	if _, err := tx.ExecContext(ctx, `GRANT `+appRole+` TO CURRENT_USER`); err != nil {
		return fmt.Errorf("repo: the database user may not take role %s; as an administrator: GRANT %[1]s TO that user: %w", appRole, err)
	}
	return nil
}

// grant gives the role its rights on the tables where one is missing. Errors:
// one that says so when the user of the address may not.
func grant(ctx context.Context, tx *sql.Tx) error {
	var schema string
	var missing bool
	err := tx.QueryRowContext(ctx, `
		SELECT quote_ident(current_schema()), COALESCE(bool_or(CASE
		  WHEN relkind = 'S' THEN NOT has_sequence_privilege($1, oid, 'USAGE')
		  WHEN relname = 'goose_db_version' THEN NOT has_table_privilege($1, oid, 'SELECT')
		  ELSE NOT (has_table_privilege($1, oid, 'SELECT') AND has_table_privilege($1, oid, 'INSERT')
		        AND has_table_privilege($1, oid, 'UPDATE') AND has_table_privilege($1, oid, 'DELETE'))
		  END), true)
		FROM pg_class WHERE relnamespace = current_schema()::regnamespace AND relkind IN ('r', 'S')`, appRole).Scan(&schema, &missing)
	if err != nil || !missing {
		return err
	}
	for _, q := range []string{grantSchema, grantTables, grantSequences} {
		if _, err := tx.ExecContext(ctx, fmt.Sprintf(q, schema)); err != nil {
			return fmt.Errorf("repo: the database user may not give role %s its rights on the tables: %w", appRole, err)
		}
	}
	_, err = tx.ExecContext(ctx, grantVersion)
	return err
}
