/** A settings file that cannot be used. `path` is the place in the file, `fix` what to change; trying again does not help. */
export class SettingsError extends Error {
  readonly code = 'settings-invalid';
  readonly retry = false;
  constructor(
    readonly file: string,
    readonly problems: readonly { path: string; problem: string; fix: string }[],
    options?: ErrorOptions,
  ) {
    super(
      problems.map(({ path, problem, fix }) => `${file}${path === '' ? '' : `: ${path}`}: ${problem}. ${fix}`).join('\n'),
      options,
    );
    this.name = 'SettingsError';
  }
}
