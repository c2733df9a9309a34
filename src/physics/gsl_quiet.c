// SPDX-License-Identifier: MIT
// GSL's own error handler ends the program. It is one for all threads, so it is turned off
// once, before main, in every program that is linked with GSL (the dependency `gsl` takes
// this file along whole); what fails is told by what the calls return.
#include <gsl/gsl_errno.h>

__attribute__((constructor)) static void turn_handler_off(void)
{
    gsl_set_error_handler_off();
}
