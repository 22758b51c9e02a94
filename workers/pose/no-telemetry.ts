/**
 * onnxruntime 1.30 reports its use to its makers (a file in ~/.cache/Microsoft, uploads over HTTPS) unless the environment forbids it
 * before the library is loaded: import this first. Found by tracing its system calls.
 */
process.env.ORT_DISABLE_TELEMETRY = '1';
