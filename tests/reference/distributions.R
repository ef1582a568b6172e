# Quantiles and probabilities from R's own distribution functions.
# Run: Rscript tests/reference/distributions.R > tests/reference/distributions.json
library(jsonlite)
p <- c(1e-6, 0.005, 0.025, 0.3, 0.5, 0.9, 0.975, 0.9999)
z <- c(-8, -3.5, -1, 0, 0.5, 1.96, 6)
df <- c(1, 2, 5.5, 30, 400)
grid <- expand.grid(p = p, df = df)
f <- expand.grid(p = c(0.025, 0.5, 0.95, 0.999), df1 = c(1, 3, 10), df2 = c(4, 30))
out <- list(
  R = R.version.string,
  normal_cdf = data.frame(z = z, value = pnorm(z)),
  normal_quantile = data.frame(p = p, value = qnorm(p)),
  t_quantile = cbind(grid, value = qt(grid$p, grid$df)),
  t_cdf = data.frame(t = rep(z[-1], 5), df = rep(df, each = 6), value = pt(rep(z[-1], 5), rep(df, each = 6))),
  chisq_quantile = cbind(grid, value = qchisq(grid$p, grid$df)),
  chisq_cdf = data.frame(x = rep(c(0.01, 1, 3.84, 20), 5), df = rep(df, each = 4),
    value = pchisq(rep(c(0.01, 1, 3.84, 20), 5), rep(df, each = 4))),
  f_quantile = cbind(f, value = qf(f$p, f$df1, f$df2)),
  f_cdf = data.frame(x = c(0.2, 1, 4), df1 = c(1, 3, 10), df2 = c(4, 30, 30), value = pf(c(0.2, 1, 4), c(1, 3, 10), c(4, 30, 30)))
)
cat(toJSON(out, digits = NA, auto_unbox = TRUE, dataframe = "rows"), "\n")
