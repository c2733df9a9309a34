// SPDX-License-Identifier: MIT
// Countries by their codes of two letters, as an electronic invoice names them.
#ifndef DW_BOOK_COUNTRY_H
#define DW_BOOK_COUNTRY_H

#include <stdbool.h>

// Whether ISO 3166-1 has CODE.
bool dw_country_is_known(const char *code);

#endif
