/** Version of this package's judgement, kept with every verdict and conclusion. Raised whenever the same facts could be judged otherwise. */
export const DOMAIN_VERSION = '7';
