/* Stub, for the compiler only. */
