# Onset and clearing of frog infection on the demo herd, by moisture: msm, and the same likelihood written out again for
# errors clustered by horse.
source("tests/reference/demo/common.R")
suppressMessages(library(msm))
source_rows <- gathered("frog")
d <- source_rows$rows
X <- cbind(1, contrasts_of(d$by_moisture)); p <- ncol(X)
years <- d$days / year

pairs <- data.frame(subject = rep(seq_len(nrow(d)), each = 2), years = c(rbind(0, years)), state = c(rbind(d$present_start, d$present_end)) + 1)
for (j in 2:p) pairs[[paste0("x", j)]] <- rep(X[, j], each = 2)
formula <- as.formula(paste("~", paste0("x", 2:p, collapse = " + ")))
m <- msm(state ~ years, subject = subject, data = pairs, qmatrix = rbind(c(0, 1), c(1, 0)), center = FALSE,
  covariates = list("1-2" = formula, "2-1" = formula), control = list(fnscale = 5000, reltol = 1e-16, maxit = 5000))
onset <- seq(1, 2 * p, 2); kept <- c(onset, onset + 1)

loglik <- function(theta) {
  a <- exp(as.vector(X %*% theta[1:p])); b <- exp(as.vector(X %*% theta[p + 1:p]))
  moved <- -expm1(-(a + b) * years) / (a + b)
  p1 <- ifelse(d$present_start == 0, a * moved, 1 - b * moved)
  log(ifelse(d$present_end == 1, p1, 1 - p1))
}
theta <- unname(m$estimates[kept])
slope_of <- function(theta) sapply(seq_along(theta), function(j) {
  g <- function(h) { e <- replace(numeric(2 * p), j, h); (loglik(theta + e) - loglik(theta - e)) / (2 * h) }
  h <- 4e-3; (64 * g(h / 4) - 20 * g(h / 2) + g(h)) / 45
})
information_of <- function(theta) -sapply(seq_along(theta), function(j) {
  g <- function(h) { e <- replace(numeric(2 * p), j, h); (colSums(slope_of(theta + e)) - colSums(slope_of(theta - e))) / (2 * h) }
  h <- 1e-2; (64 * g(h / 4) - 20 * g(h / 2) + g(h)) / 45
})
for (i in 1:5) theta <- theta + solve(information_of(theta), colSums(slope_of(theta)))
bread <- solve(information_of(theta))
write_result("frog", source_rows, c("msm"), list(
  terms = colnames(X)[-1],
  msm = list(theta = unname(m$estimates[kept]), se = unname(sqrt(diag(m$covmat)))[kept], minus2loglik = m$minus2loglik),
  direct = list(theta = theta, loglik = sum(loglik(theta)), se = sqrt(diag(bread)), robustSe = sqrt(diag(sandwich_of(bread, slope_of(theta), d$horse_id))))
))
