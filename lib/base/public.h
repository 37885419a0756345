/* What is public: a header says so by itself. What it declares between CW_PUBLIC_BEGIN and
 * CW_PUBLIC_END is seen outside the shared library, from C++ as from C; all else stays inside. */
#ifndef CW_BASE_PUBLIC_H
#define CW_BASE_PUBLIC_H

#ifdef __cplusplus
#define CW_PUBLIC_BEGIN _Pragma("GCC visibility push(default)") extern "C" {
#define CW_PUBLIC_END                                                                              \
    }                                                                                              \
    _Pragma("GCC visibility pop")
#else
#define CW_PUBLIC_BEGIN _Pragma("GCC visibility push(default)")
#define CW_PUBLIC_END _Pragma("GCC visibility pop")
#endif

#endif
