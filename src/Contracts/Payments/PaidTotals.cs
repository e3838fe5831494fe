namespace Contracts.Payments;

/// <summary>What money has paid so far, by the words a disclosure uses. Goodwill and waiting money do not count.</summary>
internal sealed class PaidTotals
{
    private readonly List<Money> rentByTerms = new(2);

    public Money Rent { get; private set; }

    public Money Plan { get; private set; }

    public Money Tax { get; private set; }

    public Money Fees { get; private set; }

    public Money Accessories { get; private set; }

    /// <summary>The early purchase price and a loss charge.</summary>
    public Money Purchase { get; private set; }

    public Money Total => Rent + Plan + Tax + Fees + Accessories + Purchase;

    public Money RentUnder(int termsIndex) => termsIndex < rentByTerms.Count ? rentByTerms[termsIndex] : Money.Zero;

    public void Add(ChargeItem item, Money amount)
    {
        switch (item.Charge.Kind, item.Part)
        {
            // Money that makes good a refund is the refund coming back: it has bought nothing.
            case (ChargeKind.RefundToRecover, _): break;
            case (_, ChargePart.Tax): Tax += amount; break;
            case (_, ChargePart.Rent): AddRent(item.Charge.TermsIndex, amount); break;
            case (_, ChargePart.Plan): Plan += amount; break;
            case (ChargeKind.Accessories, _): Accessories += amount; break;
            case (ChargeKind.Purchase or ChargeKind.Loss, _): Purchase += amount; break;
            default: Fees += amount; break;
        }
    }

    private void AddRent(int termsIndex, Money amount)
    {
        Rent += amount;
        while (rentByTerms.Count <= termsIndex) { rentByTerms.Add(Money.Zero); }
        rentByTerms[termsIndex] += amount;
    }
}
