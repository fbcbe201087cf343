# A peer of `griptrial slip`: data.table's fread, then the one change of level
# that takes most of the squares away, by running sums. Rscript peer_fread.R FILE...
suppressMessages(library(data.table))
setDTthreads(1)
for (name in commandArgs(TRUE)) {
  d <- fread(name, skip = 2L, header = FALSE)
  y <- c(0, diff(d[[2]]))
  n <- length(y)
  s <- cumsum(y)
  k <- seq_len(n - 1L)
  gain <- (s[k] - k / n * s[n])^2 / (k * (n - k))
  at <- which.max(gain)
  cat(name, d[[2]][at], "\n")
}
