#!/usr/bin/env Rscript
# The difference of two independent means, each known by its mean, standard error and degrees of freedom: Welch's t test, for
# analysis/compare Change. Two of the three are Bonferroni's share of one comparison in three. R 4.2.2, no packages.
# Run: Rscript change.R > change.csv
x <- log(c(2.91, 3.05, 2.84, 3.11, 2.97)); y <- log(c(3.32, 3.51, 3.07, 3.64, 3.20, 3.45, 3.38, 3.29))
cat("# made by change.R: R 4.2.2\nkey,value\n")
p <- function(k, v) cat(sprintf("%s,%.12g\n", k, v))
p("old.mean", mean(x)); p("old.lower", t.test(x)$conf.int[1]); p("old.upper", t.test(x)$conf.int[2]); p("old.df", length(x) - 1)
p("new.mean", mean(y)); p("new.lower", t.test(y)$conf.int[1]); p("new.upper", t.test(y)$conf.int[2]); p("new.df", length(y) - 1)
w <- t.test(y, x); w3 <- t.test(y, x, conf.level = 1 - 0.05 / 3)
p("df", w$parameter); p("lower", w$conf.int[1]); p("upper", w$conf.int[2]); p("p", w$p.value)
p("lower3", w3$conf.int[1]); p("upper3", w3$conf.int[2]); p("p3", min(1, 3 * w$p.value))
