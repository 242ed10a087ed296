// What browsers have and this compiler's own list of them does not know yet.

interface Navigator {
  readonly userActivation?: { readonly hasBeenActive: boolean; readonly isActive: boolean };
  readonly wakeLock: any;
}
