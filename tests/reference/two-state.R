# Reference results for two-state models and binary regression, on simulated clusters.
# Run: Rscript tests/reference/two-state.R > tests/reference/two-state.json
suppressMessages({
  library(msm)
  library(sandwich)
  library(jsonlite)
})
set.seed(20240611)
reference <- 42
year <- 365.25

# One path: onset hazard k t^(k-1) exp(b) / reference^k since the reset, clearing rho per day.
walk <- function(state, days, b, k, rho) {
  t <- 0
  repeat {
    if (state == 0) {
      t <- reference * ((t / reference)^k + rexp(1) / exp(b))^(1 / k)
      if (t > days) return(0)
      state <- 1
    } else {
      t <- t + rexp(1, rho)
      if (t > days) return(1)
      state <- 0
    }
  }
}

rows <- list()
for (id in 1:80) {
  u <- rnorm(1, 0, 0.4)
  group <- id %% 2
  state <- rbinom(1, 1, 0.3)
  for (visit in 1:12) {
    days <- sample(seq(28, 84, 7), 1)
    wet <- rbinom(1, 1, 0.4)
    end <- walk(state, days, -1.2 + 0.5 * group + 0.4 * wet + u, 1.6, exp(1.1 - 0.3 * wet) / year)
    rows[[length(rows) + 1]] <- data.frame(id, start = state, end, days, group, wet)
    state <- end
  }
}
d <- do.call(rbind, rows)

# Newton's method with derivatives by Richardson extrapolation, for log-likelihoods given row by row.
gradient <- function(f, x, h = 1e-3) {
  sapply(seq_along(x), function(j) {
    slope <- function(h) { e <- replace(numeric(length(x)), j, h); (f(x + e) - f(x - e)) / (2 * h) }
    (64 * slope(h / 4) - 20 * slope(h / 2) + slope(h)) / 45
  })
}
jacobian <- function(f, x, h = 1e-3) {
  columns <- lapply(seq_along(x), function(j) {
    slope <- function(h) { e <- replace(numeric(length(x)), j, h); (f(x + e) - f(x - e)) / (2 * h) }
    (64 * slope(h / 4) - 20 * slope(h / 2) + slope(h)) / 45
  })
  do.call(cbind, columns)
}
maximise <- function(rowwise, start) {
  total <- function(x) sum(rowwise(x))
  x <- optim(start, function(x) tryCatch(-total(x), error = function(e) 1e10), method = "BFGS", control = list(reltol = 1e-15, maxit = 500))$par
  for (i in 1:4) {
    hessian <- jacobian(function(y) gradient(total, y), x, 1e-2)
    x <- x - solve(hessian, gradient(total, x))
  }
  bread <- solve(-jacobian(function(y) gradient(total, y), x, 1e-2))
  scores <- rowsum(jacobian(rowwise, x), d$id)
  g <- nrow(scores)
  robust <- bread %*% crossprod(scores) %*% bread * g / (g - 1)
  list(theta = x, loglik = total(x), se = sqrt(diag(bread)), robust_se = sqrt(diag(robust)), robust = robust)
}

# The exact form, integrated in time by an adaptive rule, once for each distinct cell.
key <- with(d, paste(days, group, wet))
first <- !duplicated(key)
exact <- function(theta) {
  k <- exp(theta[6])
  one <- function(days, group, wet) {
    eta <- theta[1] + theta[2] * group + theta[3] * wet
    rho <- exp(theta[4] + theta[5] * wet) / year
    cumulative <- function(t) exp(eta) * (t / reference)^k
    h <- function(t) exp(eta) * k * t^(k - 1) / reference^k
    p01 <- integrate(
      function(t) h(t) * exp(-(cumulative(days) - cumulative(t)) - rho * (days - t)), 0, days,
      rel.tol = 1e-13, subdivisions = 2000
    )$value
    c(p01, p01 + exp(-cumulative(days) - rho * days))
  }
  p <- mapply(one, d$days[first], d$group[first], d$wet[first])
  p1 <- p[cbind(d$start + 1, match(key, key[first]))]
  log(ifelse(d$end == 1, p1, 1 - p1))
}
exact_fit <- maximise(exact, c(-1.2, 0.4, 0.4, 1.1, -0.3, 0.4))

# Average risk from state 0 over the covariates of the rows that start there, and its clustered delta error.
clear <- d$start == 0
exact_average <- function(theta, length) {
  k <- exp(theta[6])
  one <- function(group, wet) {
    eta <- theta[1] + theta[2] * group + theta[3] * wet
    rho <- exp(theta[4] + theta[5] * wet) / year
    cumulative <- function(t) exp(eta) * (t / reference)^k
    integrate(
      function(t) exp(eta) * k * t^(k - 1) / reference^k *
        exp(-(cumulative(length) - cumulative(t)) - rho * (length - t)),
      0, length, rel.tol = 1e-13, subdivisions = 2000
    )$value
  }
  mix <- aggregate(list(n = rep(1, sum(clear))), d[clear, c("group", "wet")], sum)
  sum(mix$n * mapply(one, mix$group, mix$wet)) / sum(mix$n)
}
exact_standardised <- list(
  days = c(21, 42, 84),
  risk = sapply(c(21, 42, 84), function(length) exact_average(exact_fit$theta, length)),
  se = sapply(c(21, 42, 84), function(length) {
    slope <- gradient(function(t) exact_average(t, length), exact_fit$theta)
    sqrt(drop(slope %*% exact_fit$robust %*% slope))
  })
)
exact_fit$robust <- NULL

# The homogeneous model by msm: each pair of looks is a subject of its own, so the observations are the pairs.
pairs <- data.frame(
  subject = rep(seq_len(nrow(d)), each = 2),
  years = c(rbind(0, d$days / year)),
  state = c(rbind(d$start, d$end)) + 1,
  group = rep(d$group, each = 2), wet = rep(d$wet, each = 2)
)
m <- msm(
  state ~ years, subject = subject, data = pairs, qmatrix = rbind(c(0, 2), c(3, 0)), center = FALSE,
  covariates = list("1-2" = ~ group + wet, "2-1" = ~ wet),
  control = list(fnscale = 1000, reltol = 1e-16, maxit = 2000)
)
markov <- function(theta) {
  a <- exp(theta[1] + theta[2] * d$group + theta[3] * d$wet)
  b <- exp(theta[4] + theta[5] * d$wet)
  moved <- (1 - exp(-(a + b) * d$days / year)) / (a + b)
  p1 <- ifelse(d$start == 0, a * moved, 1 - b * moved)
  log(ifelse(d$end == 1, p1, 1 - p1))
}
markov_fit <- maximise(markov, c(1, 0, 0, 1, 0))
q <- qmatrix.msm(m, covariates = list(group = 1, wet = 1))
spell <- sojourn.msm(m, covariates = list(group = 1, wet = 1))

# Binary regression on the rows at risk, by glm and sandwich.
at_risk <- subset(d, start == 0)
at_risk$log_days <- log(at_risk$days / reference)
binary <- function(link) {
  fit <- glm(end ~ group + wet + log_days, binomial(link), at_risk, control = list(epsilon = 1e-15, maxit = 100))
  robust <- vcovCL(fit, cluster = at_risk$id, type = "HC0", cadj = TRUE)
  standardised <- sapply(c(21, 42, 84), function(length) {
    mix <- replace(at_risk, "log_days", log(length / reference))
    mean(predict(fit, mix, type = "response"))
  })
  average <- function(beta, length) {
    x <- model.matrix(~ group + wet + log_days, replace(at_risk, "log_days", log(length / reference)))
    mean(binomial(link)$linkinv(x %*% beta))
  }
  errors <- sapply(c(21, 42, 84), function(length) {
    slope <- gradient(function(b) average(b, length), coef(fit))
    sqrt(drop(slope %*% robust %*% slope))
  })
  list(
    coef = unname(coef(fit)), se = unname(sqrt(diag(vcov(fit)))), robust_se = unname(sqrt(diag(robust))),
    deviance = deviance(fit), standardised = list(days = c(21, 42, 84), risk = standardised, se = errors)
  )
}

# Each log(days) as its cluster's mean and the distance from it.
at_risk$between <- ave(at_risk$log_days, at_risk$id)
at_risk$within <- at_risk$log_days - at_risk$between
split <- glm(end ~ between + within, binomial("cloglog"), at_risk, control = list(epsilon = 1e-15, maxit = 100))

result <- list(
  script = "tests/reference/two-state.R",
  versions = list(
    R = R.version.string, msm = as.character(packageVersion("msm")),
    sandwich = as.character(packageVersion("sandwich"))
  ),
  data = as.list(d),
  exact = c(list(order = c("onset", "group", "wet", "clearing", "clearing wet", "log exponent")), exact_fit, list(standardised = exact_standardised)),
  msm = list(
    order = c("onset", "clearing", "onset group", "onset wet", "clearing wet"),
    estimates = unname(m$estimates[c(1, 2, 3, 5, 6)]),
    minus2loglik = m$minus2loglik,
    se = unname(sqrt(diag(m$covmat)))[c(1, 2, 3, 5, 6)],
    at_group_1_wet_1 = list(
      onset = q$estimates[1, 2], onset_low = q$L[1, 2], onset_high = q$U[1, 2],
      spell = spell$estimates[2], spell_low = spell$L[2], spell_high = spell$U[2]
    )
  ),
  markov = markov_fit[c("theta", "loglik", "se", "robust_se")],
  cloglog = binary("cloglog"), logit = binary("logit"),
  within_between = list(coef = unname(coef(split)))
)
cat(toJSON(result, digits = NA, auto_unbox = TRUE), "\n")
