/** A bucket of any store that speaks the S3 protocol. Nothing in it is public: only this service reads and writes it. */
import { AwsClient } from 'aws4fetch';
import { FilesAway } from '../errors.js';
import { checkKey, type FileStore } from './file-store.js';

export interface S3Settings {
  /** Such as https://objects.example; the bucket follows in the path. */
  endpoint: string;
  bucket: string;
  region: string;
  accessKeyId: string;
  secretAccessKey: string;
}

const PATIENCE_MILLISECONDS = 15_000;

export function s3Store({ endpoint, bucket, ...access }: S3Settings): FileStore {
  const client = new AwsClient({ ...access, service: 's3', retries: 2 });
  const ask = async (method: string, key: string, more: RequestInit = {}): Promise<Response> => {
    checkKey(key);
    let response: Response;
    try {
      response = await client.fetch(`${endpoint.replace(/\/$/, '')}/${bucket}/${key}`, {
        method,
        signal: AbortSignal.timeout(PATIENCE_MILLISECONDS),
        ...more,
      });
    } catch {
      throw new FilesAway();
    }
    if (response.ok || response.status === 404) return response;
    await response.body?.cancel();
    if (response.status >= 500) throw new FilesAway();
    throw new Error(`The store of pictures refused ${method} with status ${response.status}`);
  };
  return {
    async put(key, content, type) {
      const response = await ask('PUT', key, {
        body: new Uint8Array(content),
        headers: { 'Content-Type': type, 'Content-Length': String(content.length) },
      });
      if (response.status === 404) throw new Error(`The store of pictures has no bucket ${bucket}`);
    },
    async get(key) {
      const response = await ask('GET', key);
      return response.status === 404 ? undefined : Buffer.from(await response.arrayBuffer());
    },
    async remove(key) {
      await ask('DELETE', key);
    },
  };
}
