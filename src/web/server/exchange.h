// SPDX-License-Identifier: MIT
// What libmicrohttpd calls while a request comes and is answered.
#ifndef DW_WEB_EXCHANGE_H
#define DW_WEB_EXCHANGE_H

#include <microhttpd.h>

// CLS is the server in all three. A request begins, before its head is read.
void *dw_exchange_begin(void *cls, const char *address, struct MHD_Connection *connection);
// Its head came, then pieces of its body, then no more: now it is answered.
enum MHD_Result dw_exchange_step(void *cls, struct MHD_Connection *connection, const char *address, const char *method,
                                 const char *version, const char *bytes, size_t *size, void **context);
// It ended, answered or broken off.
void dw_exchange_end(void *cls, struct MHD_Connection *connection, void **context, enum MHD_RequestTerminationCode why);

#endif
