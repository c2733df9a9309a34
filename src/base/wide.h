// SPDX-License-Identifier: MIT
// Marks a function whose loops run along a signal: it is also built for wider
// vector registers and the machine's best is chosen at start. No fused
// multiply-add is let in (-ffp-contract=off), so every machine gives the same digits.
#ifndef DW_BASE_WIDE_H
#define DW_BASE_WIDE_H

#if defined(__x86_64__) && defined(__gnu_linux__) && defined(__GNUC__) && !defined(__clang__) &&                       \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define DW_WIDE __attribute__((target_clones("avx512f", "avx2", "default")))
#else
#define DW_WIDE
#endif

#endif
