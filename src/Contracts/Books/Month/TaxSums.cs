using NodaTime;

namespace Contracts.Books.Month;

/// <summary>What was received of one kind in a jurisdiction, by booking day, whether the money has come or not.</summary>
/// <param name="Taxed">Charged and taxed.</param>
/// <param name="TakenBack">Taken back of what was taxed; zero or less.</param>
/// <param name="Untaxed">Charged less taken back, of what bore no tax.</param>
/// <param name="Late">Of what was taxed and taken back: what is about months closed before.</param>
public readonly record struct ReceiptSum(Money Taxed, Money TakenBack, Money Untaxed, Money Late)
{
    /// <summary>Taxed receipts less what was taken back of them.</summary>
    public Money NetTaxed => Taxed + TakenBack;

    public static ReceiptSum operator +(ReceiptSum left, ReceiptSum right) =>
        new(left.Taxed + right.Taxed, left.TakenBack + right.TakenBack, left.Untaxed + right.Untaxed, left.Late + right.Late);
}

/// <summary>What an authority has of the tax of a jurisdiction at one rate, by booking day.</summary>
/// <param name="Base">What was taxed, less what was taken back of it.</param>
/// <param name="CostBase">The cost of units on which the shop itself owes the tax.</param>
/// <param name="Charged">Tax charged to families.</param>
/// <param name="TakenBack">Tax taken back from them; zero or less.</param>
/// <param name="OnCost">Tax that the shop owes on what units cost it.</param>
/// <param name="Late">Of the three: what is about months closed before.</param>
public readonly record struct AuthoritySum(Money Base, Money CostBase, Money Charged, Money TakenBack, Money OnCost, Money Late)
{
    /// <summary>What the authority's tax payable moved by.</summary>
    public Money Net => Charged + TakenBack + OnCost;

    public static AuthoritySum operator +(AuthoritySum left, AuthoritySum right) => new(
        left.Base + right.Base, left.CostBase + right.CostBase, left.Charged + right.Charged, left.TakenBack + right.TakenBack,
        left.OnCost + right.OnCost, left.Late + right.Late);
}

/// <summary>
/// What a month was taxed on, summed over the charges of all contracts. Sums of amounts that were rounded one by one: the
/// tax of a sum is not asked for and would differ by cents.
/// </summary>
/// <param name="first">The first day of the month; what is about a day before it was learned too late for its own month.</param>
public sealed class TaxSums(LocalDate first)
{
    private readonly Dictionary<(string Jurisdiction, ReceiptKind Kind), ReceiptSum> receipts = [];
    private readonly Dictionary<(string Jurisdiction, string Authority, Rate Rate), AuthoritySum> authorities = [];
    private readonly Dictionary<(string Authority, Movement Movement), Money> taxes = [];

    /// <summary>Receipts by jurisdiction and kind, in the order in which they are read.</summary>
    public IEnumerable<(string Jurisdiction, ReceiptKind Kind, ReceiptSum Sum)> Receipts => receipts
        .Where(pair => pair.Value != default)
        .OrderBy(pair => pair.Key.Jurisdiction, StringComparer.Ordinal).ThenBy(pair => pair.Key.Kind)
        .Select(pair => (pair.Key.Jurisdiction, pair.Key.Kind, pair.Value));

    /// <summary>Tax by jurisdiction, authority and rate, in the order in which it is read.</summary>
    public IEnumerable<(string Jurisdiction, string Authority, Rate Rate, AuthoritySum Sum)> Authorities => authorities
        .Where(pair => pair.Value != default)
        .OrderBy(pair => pair.Key.Jurisdiction, StringComparer.Ordinal).ThenBy(pair => pair.Key.Authority, StringComparer.Ordinal)
        .ThenBy(pair => pair.Key.Rate)
        .Select(pair => (pair.Key.Jurisdiction, pair.Key.Authority, pair.Key.Rate, pair.Value));

    /// <summary>Tax by authority and by the reason it has in the postings, over all jurisdictions.</summary>
    public IReadOnlyDictionary<(string Authority, Movement Movement), Money> Taxes => taxes;

    /// <summary>Adds a charge, or the cost of a unit, that was booked in the month.</summary>
    public void Add(TaxMove move)
    {
        var isLate = move.On < first;
        foreach (var (kind, taxed, untaxed) in move.Receipts())
        {
            var key = (move.Jurisdiction, kind);
            var isBack = move.Movement == Movement.ChargeReversed;
            receipts[key] = receipts.GetValueOrDefault(key)
                + new ReceiptSum(If(!isBack, taxed), If(isBack, taxed), untaxed, If(isLate, taxed));
        }

        foreach (var (authority, rate, measure, tax) in move.Shares())
        {
            var key = (move.Jurisdiction, authority, rate);
            var isCost = move.Movement == Movement.TaxedOnCost;
            authorities[key] = authorities.GetValueOrDefault(key) + new AuthoritySum(
                If(!isCost, measure), If(isCost, measure), If(move.Movement == Movement.Charged, tax),
                If(move.Movement == Movement.ChargeReversed, tax), If(isCost, tax), If(isLate, tax));
            taxes[(authority, move.Movement)] = taxes.GetValueOrDefault((authority, move.Movement)) + tax;
        }
    }

    private static Money If(bool counts, Money amount) => counts ? amount : Money.Zero;
}
