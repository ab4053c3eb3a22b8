export class EngineError extends Error {
  constructor(
    readonly code: string,
    message: string,
    readonly path: string = '',
  ) {
    super(message);
    this.name = 'EngineError';
  }
}
