# Protected against bare feet of the demo herd, tender at the next visit or not, by breed type and ground: pooled over
# strata by stats::mantelhaen.test (odds ratio) and metafor::rma.mh (difference, ratio), with errors that leave out one
# horse at a time, by a plain loop.
source("tests/reference/demo/common.R")
suppressMessages(library(metafor))
source_rows <- gathered("protection")
d <- source_rows$rows
table <- xtabs(~ factor(exposed, c(1, 0)) + factor(event, c(1, 0)) + stratum, d)
overlap <- apply(table, 3, function(t) all(rowSums(t) > 0))
used <- table[, , overlap, drop = FALSE]
test <- mantelhaen.test(used, correct = FALSE)
pool <- function(measure) {
  r <- rma.mh(measure = measure, ai = used[1, 1, ], bi = used[1, 2, ], ci = used[2, 1, ], di = used[2, 2, ], add = 0, to = "none", drop00 = FALSE)
  c(r$beta, r$se)
}
points <- function(t) {
  a <- t[1, 1, ]; b <- t[1, 2, ]; c <- t[2, 1, ]; e <- t[2, 2, ]; n <- a + b + c + e
  keep <- a + b > 0 & c + e > 0; a <- a[keep]; b <- b[keep]; c <- c[keep]; e <- e[keep]; n <- n[keep]
  c(rd = sum((a * (c + e) - c * (a + b)) / n) / sum((a + b) * (c + e) / n), logRr = log(sum(a * (c + e) / n) / sum(c * (a + b) / n)), logOr = log(sum(a * e / n) / sum(b * c / n)))
}
of_horse <- split(seq_len(nrow(d)), d$horse_id)
# Only horses in strata where something is compared.
strata <- names(overlap)[overlap]
of_horse <- of_horse[sapply(of_horse, function(i) any(d$stratum[i] %in% strata))]
left_out <- sapply(of_horse, function(i) {
  rest <- d[-i, ]
  points(xtabs(~ factor(exposed, c(1, 0)) + factor(event, c(1, 0)) + factor(stratum, strata), rest))
})
g <- length(of_horse)
write_result("protection", source_rows, c("metafor"), list(
  strata = dimnames(table)$stratum, overlap = unname(overlap),
  mantelhaen = list(oddsRatio = unname(test$estimate), interval = as.vector(test$conf.int)),
  metafor = list(RD = pool("RD"), RR = pool("RR"), OR = pool("OR")),
  leaveOneHorseOut = list(points = unname(points(used)), se = unname(sqrt((g - 1) / g * rowSums((left_out - rowMeans(left_out))^2))), horses = g)
))
