/** What people call the thing in front of them, for sentences about what is only on it. */
export const THIS_DEVICE: string = matchMedia('(pointer: coarse)').matches ? 'phone' : 'computer';
