// SPDX-License-Identifier: MIT
#include "base/status.h"

#include <stdarg.h>
#include <stdio.h>

DwStatus dw_fail(DwMessage *message, DwStatus status, const char *format, ...)
{
    if (message) {
        va_list arguments;
        va_start(arguments, format);
        vsnprintf(message->text, sizeof message->text, format, arguments);
        va_end(arguments);
    }
    return status;
}
