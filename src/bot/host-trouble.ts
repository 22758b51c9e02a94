/** Codes of Node, SQLite and PostgreSQL that tell of the machine, the network or the database, not of what was to be done. */
const ofSystem =
  /^(ENOSPC|EDQUOT|EROFS|EACCES|EPERM|EIO|EMFILE|ENFILE|ENOMEM|ECONNREFUSED|ECONNRESET|EPIPE|ETIMEDOUT|ENETUNREACH|EHOSTUNREACH|ENOTFOUND|EAI_AGAIN)$/;
const ofSqlite = /^SQLITE_(BUSY|LOCKED|FULL|IOERR|READONLY|CANTOPEN|NOMEM|PROTOCOL)/;
const ofPostgres = /^(08|25006|40|53|55P03|57|58)\w*$/; // classes of SQLSTATE, PostgreSQL manual, appendix A

/** Whether an error will pass when the operator or the system mends the host: a full disk, a locked database, no network. */
export function isHostTrouble(error: unknown): boolean {
  if (!(error instanceof Error)) return false;
  const code = 'code' in error && typeof error.code === 'string' ? error.code : '';
  if (ofSystem.test(code) || ofSqlite.test(code) || (code.length === 5 && ofPostgres.test(code))) return true;
  return error.cause !== undefined && isHostTrouble(error.cause);
}
