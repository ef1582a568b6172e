# Return of separation on the demo herd. Nonparametric: a plain EM on the incidence matrix, run to the
# Karush-Kuhn-Tucker conditions, with survival::survfit beside it (which stops on a fixed tolerance of its own: its
# log-likelihood is given so that the two can be compared). Parametric: survival::survreg, Weibull, by breed type.
source("tests/reference/demo/common.R")
suppressMessages(library(survival))
source_rows <- gathered("spells")
d <- source_rows$rows
left <- d$left_days
right <- ifelse(is.na(d$right_days), Inf, d$right_days)
n <- nrow(d)

npmle <- function(left, right) {
  keys <- unique(data.frame(left, right))
  weight <- as.vector(table(match(paste(left, right), paste(keys$left, keys$right))))
  marks <- rbind(data.frame(at = unique(keys$left), order = 2, open = TRUE), data.frame(at = unique(keys$right), order = 1, open = FALSE))
  marks <- marks[order(marks$at, marks$order), ]
  inner <- which(marks$open[-nrow(marks)] & !marks$open[-1])
  low <- marks$at[inner]; high <- marks$at[inner + 1]
  inside <- outer(seq_len(nrow(keys)), seq_along(inner), function(i, j) low[j] >= keys$left[i] & high[j] <= keys$right[i]) + 0
  total <- sum(weight)
  mass <- rep(1 / length(inner), length(inner))
  step <- function(p) p * as.vector(crossprod(inside, weight / as.vector(inside %*% p))) / total
  gradient <- function(p) as.vector(crossprod(inside, weight / as.vector(inside %*% p))) / total
  loglik <- function(p) sum(weight * log(inside %*% p))
  rounds <- 0
  # EM alone; masses below 1e-12 whose gradient is below 1 are set to 0, and come back should the gradient rise above 1.
  repeat {
    for (i in 1:2000) mass <- step(mass)
    rounds <- rounds + 2000
    g <- gradient(mass)
    # Newton on the positive masses finishes what EM only creeps towards.
    on <- mass > 1e-9
    if (max(g) - 1 < 1e-5) {
      p <- mass[on] / sum(mass[on]); A <- inside[, on, drop = FALSE]
      for (k in 1:50) {
        f <- as.vector(A %*% p)
        H <- crossprod(A * sqrt(weight) / f); u <- as.vector(crossprod(A, weight / f))
        K <- rbind(cbind(H, 1), c(rep(1, ncol(A)), 0))
        move <- try(solve(K, c(u, 0))[seq_len(ncol(A))], silent = TRUE)
        if (inherits(move, "try-error")) break
        t <- min(1, ifelse(any(move < 0), 0.95 * min((-p / move)[move < 0]), 1))
        p <- p + t * move
        if (max(abs(move)) < 1e-14) break
      }
      polished <- replace(numeric(length(mass)), which(on), p / sum(p))
      if (loglik(polished) >= loglik(mass)) mass <- pmax(polished, 0)
      g <- gradient(mass)
    }
    if (max(g) - 1 < 1e-10 || rounds > 4e5) break
    mass <- pmax(mass, 1e-14); mass <- mass / sum(mass)
  }
  kept <- mass > 1e-9
  list(low = low[kept], high = ifelse(is.finite(high[kept]), high[kept], 1e9), mass = mass[kept], loglik = loglik(mass), gap = max(g) - 1, rounds = rounds)
}
surv_of <- function(left, right) Surv(ifelse(left == 0, NA, left), ifelse(is.finite(right), right, NA), type = "interval2")
likelihood_of <- function(fit, left, right) {
  at <- function(t) { s <- c(1, fit$surv)[findInterval(t, fit$time) + 1]; s }
  # survfit puts the mass of an interval at one time inside it.
  low <- at(left); high <- ifelse(is.finite(right), at(pmin(right, 1e8)), 0)
  sum(log(low - high))
}
groups <- c(list(all = rep(TRUE, n)), sapply(sort(unique(d$level)), function(l) d$level == l, simplify = FALSE))
curves <- lapply(groups, function(keep) {
  if (!any(is.finite(right[keep]))) return(NULL)
  fit <- survfit(surv_of(left[keep], right[keep]) ~ 1)
  c(npmle(left[keep], right[keep]), list(survfitLoglik = likelihood_of(fit, left[keep], right[keep]),
    survfit90 = 1 - summary(fit, times = 90, extend = TRUE)$surv, survfit180 = 1 - summary(fit, times = 180, extend = TRUE)$surv))
})

X <- contrasts_of(d$level)
control <- survreg.control(rel.tolerance = 1e-14, maxiter = 200)
y <- surv_of(left, right)
weibull <- survreg(y ~ X, dist = "weibull", control = control)
design <- cbind(1, X); p <- ncol(design)
contribution <- function(theta) {
  mu <- as.vector(design %*% theta[1:p]); scale <- exp(theta[p + 1])
  survived <- function(t) exp(-exp((log(t) - mu) / scale))
  log(ifelse(left == 0, 1, survived(pmax(left, 1e-9))) - ifelse(is.finite(right), survived(pmin(right, 1e9)), 0))
}
top <- unname(c(coef(weibull), log(weibull$scale)))
# survreg's own clustered covariance is not used: see time-to-return.R.
scores <- sapply(seq_len(p + 1), function(j) {
  slope <- function(h) { e <- replace(numeric(p + 1), j, h); (contribution(top + e) - contribution(top - e)) / (2 * h) }
  (4 * slope(5e-4) - slope(1e-3)) / 3
})
# A spell seen at one visit only, (0, infinity], says nothing: its horse is not counted among the clusters.
says <- left > 0 | is.finite(right)
write_result("spells", source_rows, c("survival"), list(
  curves = curves,
  weibull = list(terms = colnames(X), coef = top, loglik = weibull$loglik[2], se = unname(sqrt(diag(vcov(weibull)))),
    clustered = unname(sqrt(diag(sandwich_of(vcov(weibull), scores[says, ], d$horse_id[says])))))
))
