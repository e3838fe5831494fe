namespace Contracts.Payments;

/// <summary>
/// What the tax of a charge was taken on, as a return of sales tax asks for it. A part counts where its entry taxes it at a
/// rate above zero, also when that tax rounds to 0.00; nothing is rounded here.
/// </summary>
/// <param name="Rents">The rent of an installment; of a delivery tax all rents it was taken on (M80, M81).</param>
/// <param name="Plan">The protection plan of an installment (M30).</param>
/// <param name="Other">The price of a sale or the amount of a fee (M31, M32, M82).</param>
/// <param name="IsCovered">Whether a delivery tax covers the rent or the price, which then bear no tax of their own (M80, M82).</param>
public readonly record struct TaxBase(Money Rents, Money Plan, Money Other, bool IsCovered)
{
    /// <summary>All of it together.</summary>
    public Money Total => Rents + Plan + Other;
}
