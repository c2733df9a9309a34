// SPDX-License-Identifier: MIT
#include "physics/chance.h"

#include <gsl/gsl_cdf.h>

double dw_chance_normal(double probability)
{
    return gsl_cdf_ugaussian_Pinv(probability);
}

double dw_chance_chi_square(double probability, double freedom)
{
    return gsl_cdf_chisq_Pinv(probability, freedom);
}

double dw_chance_student(double probability, double freedom)
{
    return gsl_cdf_tdist_Pinv(probability, freedom);
}

double dw_chance_hits(unsigned hits, unsigned tries, double probability)
{
    return hits ? gsl_cdf_binomial_Q(hits - 1, probability, tries) : 1;
}
