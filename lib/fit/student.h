/* Student's t, for intervals. */
#ifndef CW_FIT_STUDENT_H
#define CW_FIT_STUDENT_H

/* The 97.5 % quantile of t with df degrees of freedom (at least 1 is taken; infinite: normal). */
double cw_student_quantile(double df);

#endif
