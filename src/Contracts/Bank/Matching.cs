using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Calendars;
using Contracts.Books;
using NodaTime;

namespace Contracts.Bank;

/// <summary>
/// Finds what a bank's line is about: by a reference first, then by amount and day. Pure: a line, a book, an answer. A command is made only where
/// something in the line names the contract, the payment or the household; an amount alone never credits anybody (decision 0036).
/// </summary>
public static class Matching
{
    private const int MostCandidates = 10;

    /// <summary>The longest time frame of a return by a family, about sixty days.</summary>
    private const int DaysOfReturns = 60;

    /// <summary>How many banking days after it was recorded a payment has settled at the latest (common practice, no source).</summary>
    private const int BankingDaysToSettle = 2;

    /// <summary>What a line is about.</summary>
    /// <param name="entry">The line.</param>
    /// <param name="book">What the shop's contracts owe and were paid.</param>
    public static Finding Find(BankEntry entry, ShopBook book)
    {
        if (entry.Fault is { } fault) { return Nothing(fault); }
        if (!entry.Amount.IsPositive) { return Nothing("a line of no amount"); }
        var found = entry.IsCredit ? MoneyIn(entry, book) : MoneyOut(entry, book);
        // In another file the same line could not be told from this one, so a person looks.
        return entry.IsRecognisable ? found : found switch
        {
            Finding.Matched matched => Unsure(entry, [new Candidate(matched.Contract, (matched.Body as ContractCommand.ReversePayment)?.Payment, matched.Because)]),
            Finding.CameBack back => Unsure(entry, back.Payments.Select(Of)),
            _ => found,
        };
    }

    private static Finding.Proposed Unsure(BankEntry entry, IEnumerable<Candidate> candidates) => Propose(
        entry.Reference is null
            ? "the bank gave the line no reference, so it could not be told from the same line in another file"
            : "the line's reference stands in the file more than once",
        candidates);

    private static Finding MoneyIn(BankEntry entry, ShopBook book)
    {
        if (entry.ReturnCode is not null) { return Nothing($"money that came back in with the code {entry.ReturnCode}: a refund that did not arrive, which the counter sees to"); }
        if (Recorded(entry, book) is { } recorded) { return recorded; }
        var named = Distinct(Words.Of(entry).SelectMany(book.Contract));
        if (named.Count > 1) { return Propose("several contracts are named", named.Select(one => Of(one, "named in the line"))); }
        if (named.Count == 1) { return For(entry, book, named[0], $"names {named[0].Contract}", Words.IsTelling(named[0].Contract)); }
        var family = Distinct(Words.Of(entry).Where(Words.IsTelling).SelectMany(book.Household));
        if (family.Count > 0) { return ForFamily(entry, book, family); }
        var owing = book.Owing(entry.Paid, entry.BookedOn);
        return owing.Count > 0
            ? Propose($"nothing but the amount: {owing.Count} {(owing.Count == 1 ? "account owes" : "accounts owe")} {entry.Paid} around this day",
                owing.Select(one => Of(one, $"owes {entry.Paid}")))
            : Nothing($"names no contract, household or payment, and no account owes {entry.Paid} around this day");
    }

    /// <summary>A payment that the counter recorded when it was made, or a batch of them: it arrives now and is not recorded again.</summary>
    private static Finding? Recorded(BankEntry entry, ShopBook book)
    {
        var amount = entry.Paid;
        foreach (var word in Words.References(entry))
        {
            var waiting = book.Payments(word).Where(payment => !book.HasArrived(payment)).ToImmutableArray();
            if (waiting.Length == 0) { continue; }
            var sum = waiting.Aggregate(Money.Zero, (total, payment) => total + payment.Amount);
            if (sum == amount) { return new Finding.Arrived(waiting) { Because = $"the payments recorded with the reference {word}" }; }
            // Part of a text may be anything; what stands in a field for references is meant.
            if (Words.IsReferenceField(entry, word))
            {
                return Propose(
                    $"the payments recorded with the reference {word} add up to {sum}, and {amount} arrived",
                    waiting.Select(payment => new Candidate(payment.Contract, payment.Key, $"{payment.Amount} recorded on {Day(payment.On)}")));
            }
        }

        return null;
    }

    private static Finding ForFamily(BankEntry entry, ShopBook book, List<Standing> family)
    {
        var open = family.FindAll(one => one.IsOpen || one.PastDue.IsPositive);
        if (open.Count == 1) { return For(entry, book, open[0], $"names {open[0].Household}, whose one open contract is {open[0].Contract}", telling: true); }
        var fitting = family.FindAll(one => one.Owes(entry.Paid, entry.BookedOn, ShopBook.DaysAround));
        return fitting.Count == 1
            ? For(entry, book, fitting[0], $"names {fitting[0].Household}, of whose contracts only {fitting[0].Contract} owes {entry.Paid}", telling: true)
            : Propose("several contracts of the household that is named", family.Select(one => Of(one, $"of {one.Household}")));
    }

    private static Finding For(BankEntry entry, ShopBook book, Standing standing, string because, bool telling)
    {
        var owes = standing.Owes(entry.Paid, entry.BookedOn, ShopBook.DaysAround);
        if (!telling && !owes) { return Propose("a bare number that is also a contract's", [Of(standing, "its number stands in the line")]); }
        if (!standing.IsOpen && !standing.PastDue.IsPositive) { return Propose("the contract that is named has ended and owes nothing", [Of(standing, "named in the line")]); }
        if (!owes && standing.Payoff == entry.Paid) { return Propose("the amount is what buying the instrument costs; buying it is for the counter",
            [Of(standing, $"payoff {standing.Payoff}")]); }
        // Whoever recorded it may not have said what the bank calls it: the same money twice is worse than a question.
        var twins = book.Payments(standing).Where(one => one.Amount == entry.Paid && DaysApart(one.On, entry.BookedOn) <= ShopBook.DaysAround).ToList();
        if (twins.Count > 0)
        {
            return Propose(
                $"a payment of {entry.Paid} within {ShopBook.DaysAround} days is recorded: this may be its money",
                [Of(standing, because), .. twins.Select(one => new Candidate(one.Contract, one.Key, $"{one.Amount} recorded on {Day(one.On)}"))]);
        }

        return new Finding.Matched(standing.Contract, new ContractCommand.Pay(entry.Paid, entry.Method, Words.Kept(entry))) { Because = because };
    }

    private static Finding MoneyOut(BankEntry entry, ShopBook book)
    {
        if (entry.ReturnCode is not { } given) { return Nothing("money out without a return code: a fee, a transfer or a refund, which no contract is booked from"); }
        if (ReturnCode.Find(given) is not { } code) { return Nothing($"the return code {given} is not known (contracts bank codes lists those that are)"); }
        if (!code.OfConsumerDebit) { return Nothing($"{code.Code} ({code.Title}) is no reason for which a family's payment comes back"); }
        var payments = Words.References(entry).SelectMany(book.Payments).Where(ThroughBank).DistinctBy(one => one.Key).ToList();
        var fitting = payments.FindAll(one => one.Amount == entry.Amount);
        if (fitting.Count == 0 && OneOverSeveral(entry, book) is { } shares)
        {
            return TooLate(entry, shares[0], code) is { } late
                ? Propose(late, shares.Select(Of))
                : new Finding.CameBack(shares, code.Code) { Because = "the reference of a family's payment over several contracts" };
        }

        var because = "the reference of the payment";
        if (fitting.Count == 0)
        {
            var named = Distinct(Words.Of(entry).SelectMany(book.Contract));
            // Those of the reference stay a question where their amount is another one.
            payments = [.. payments.UnionBy(named.SelectMany(book.Payments).Where(ThroughBank), one => one.Key)];
            fitting = payments.FindAll(one => one.Amount == entry.Amount);
            because = "the contract that is named, and the amount";
            if (fitting.Count > 0 && named.SelectMany(book.TakenBack).Any(one => one.Amount == entry.Amount && DaysApart(one.On, entry.BookedOn) <= DaysOfReturns))
            {
                return Propose($"came back with {code.Code}, and a payment of {entry.Amount} was taken back already", fitting.Select(Of));
            }
        }

        return fitting.Count switch
        {
            1 => Back(entry, fitting[0], code, because),
            0 when payments.Count == 0 => Nothing($"came back with {code.Code}, and names no payment or contract"),
            _ => Propose(
                fitting.Count == 0 ? $"came back with {code.Code}, and no payment that is named is of {entry.Amount}"
                    : $"came back with {code.Code}; it may be one of several payments",
                (fitting.Count == 0 ? payments : fitting).Select(Of)),
        };
    }

    private static Finding Back(BankEntry entry, KnownPayment payment, ReturnCode code, string because) => TooLate(entry, payment, code) is { } late
        ? Propose(late, [Of(payment)])
        : new Finding.Matched(payment.Contract, new ContractCommand.ReversePayment(payment.Key, code.Code)) { Because = because };

    /// <summary>Why a return may be of another payment after all: it came later than its code allows; null where it did not.</summary>
    private static string? TooLate(BankEntry entry, KnownPayment payment, ReturnCode code)
    {
        // The day of settlement is not known here, only the day the payment was recorded for.
        var settled = BusinessCalendar.Banks.After(payment.On, BankingDaysToSettle);
        return code.LastDay(settled) is { } last && entry.BookedOn > last
            ? $"{code.Code} comes within {code.FrameWords}; a payment of {Day(payment.On)} settled by {Day(settled)}, so that was {Day(last)}"
            : null;
    }

    /// <summary>The payments of one family, one day and one reference that add up to the line, each on a contract of its own; null where there are none.</summary>
    private static ImmutableArray<KnownPayment>? OneOverSeveral(BankEntry entry, ShopBook book)
    {
        foreach (var word in Words.References(entry))
        {
            var shares = book.Payments(word).Where(ThroughBank).ToImmutableArray();
            if (shares.Length < 2 || shares.Aggregate(Money.Zero, (total, share) => total + share.Amount) != entry.Amount) { continue; }
            var families = shares.SelectMany(share => book.Contract(share.Contract)).Select(standing => standing.Household).Distinct(StringComparer.Ordinal).Count();
            if (families == 1 && shares.DistinctBy(share => share.Contract).Count() == shares.Length && shares.DistinctBy(share => (share.On, share.Method)).Count() == 1)
            {
                return shares;
            }
        }

        return null;
    }

    /// <summary>Cash and card payments come back otherwise than by a return through the bank.</summary>
    private static bool ThroughBank(KnownPayment payment) => PostingRules.AccountOf(payment.Method) is not (BookAccount.CashDrawer or BookAccount.CardClearing);

    private static int DaysApart(LocalDate one, LocalDate other) => Math.Abs(Period.DaysBetween(one, other));

    private static Candidate Of(KnownPayment payment) => new(payment.Contract, payment.Key, $"{payment.Amount} paid on {Day(payment.On)}");

    private static List<Standing> Distinct(IEnumerable<Standing> standings) => [.. standings.DistinctBy(one => one.Contract)];

    private static Candidate Of(Standing standing, string why) => new(standing.Contract, null, why);

    private static Finding.Unmatched Nothing(string because) => new() { Because = because };

    private static Finding.Proposed Propose(string because, IEnumerable<Candidate> candidates) =>
        new([.. candidates.OrderBy(one => one.Contract, StringComparer.Ordinal).ThenBy(one => one.Payment, StringComparer.Ordinal).Take(MostCandidates)]) { Because = because };

    private static string Day(LocalDate day) => NodaTime.Text.LocalDatePattern.Iso.Format(day);
}
