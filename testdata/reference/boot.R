#!/usr/bin/env Rscript
# Bootstrap of a difference of two means, for analysis/compare. R 4.2.2, boot 1.3-28.1. Run: Rscript boot.R
# The limits carry the noise of 400,000 draws (about 0.0005).
suppressMessages(library(boot))
cat(R.version.string, as.character(packageVersion("boot")), "\n")
a <- c(-2.10, -2.05, -2.22, -1.98, -2.15, -2.08, -2.31, -2.02, -2.11, -2.19, -2.04, -2.27, -1.90, -2.13, -2.09)
b <- c(-1.21, -1.05, -1.32, -1.18, -1.02, -1.25, -0.71, -1.12, -1.19, -1.27, -1.08, -1.15, -1.30, -1.22, -1.17)
d <- data.frame(y = c(a, b), g = rep(1:2, each = 15))
difference <- function(d, i) mean(d$y[i][d$g[i] == 2]) - mean(d$y[i][d$g[i] == 1])
set.seed(1)
print(system.time(boot(d, difference, 10000, strata = d$g)))
ci <- boot.ci(boot(d, difference, 400000, strata = d$g), type = c("perc", "bca"))
cat(sprintf("%.4f\n", c(ci$percent[4:5], ci$bca[4:5]))) # 0.8753 1.0553 0.8833 1.0687
