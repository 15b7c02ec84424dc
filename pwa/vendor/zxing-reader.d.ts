export * from 'zxing-wasm/reader';
