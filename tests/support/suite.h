// SPDX-License-Identifier: MIT
// One Check suite a program: list the tests, get a main that reports as TAP. Those behind DW_FIGURES ask for figures
// along paths of the code that those before it take: a sanitizer leaves them out (support/alike.h).
#ifndef DW_TESTS_SUPPORT_SUITE_H
#define DW_TESTS_SUPPORT_SUITE_H

#include "support/alike.h"

#include <check.h>
#include <stdlib.h>

#define DW_FIGURES NULL

// A test program says: DW_SUITE("name", test_a, test_b, …, DW_FIGURES, test_c, …)
#define DW_SUITE(name, ...)                                                                                            \
    int main(void)                                                                                                     \
    {                                                                                                                  \
        const TTest *const tests[] = {__VA_ARGS__};                                                                    \
        Suite *suite = suite_create(name);                                                                             \
        TCase *tests_case = tcase_create(name);                                                                        \
        tcase_set_timeout(tests_case, 300);                                                                            \
        for (size_t i = 0; i < sizeof tests / sizeof *tests && (tests[i] || alike(1, 0)); i++)                         \
            if (tests[i])                                                                                              \
                tcase_add_test(tests_case, tests[i]);                                                                  \
        suite_add_tcase(suite, tests_case);                                                                            \
        SRunner *runner = srunner_create(suite);                                                                       \
        srunner_set_fork_status(runner, CK_NOFORK);                                                                    \
        srunner_set_tap(runner, "-");                                                                                  \
        srunner_run_all(runner, CK_SILENT);                                                                            \
        int failed = srunner_ntests_failed(runner);                                                                    \
        srunner_free(runner);                                                                                          \
        return failed ? EXIT_FAILURE : EXIT_SUCCESS;                                                                   \
    }

#endif
