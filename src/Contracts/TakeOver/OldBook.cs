using Contracts.Agreements;
using NodaTime;

namespace Contracts.TakeOver;

/// <summary>What all lines of a book share.</summary>
/// <param name="Book">Its name: 1 to 40 letters, digits or hyphens.</param>
/// <param name="Digest">The first 16 hex digits of the SHA-256 of its files and its mapping: another content is another book.</param>
/// <param name="By">Who takes it over.</param>
/// <param name="EarlyPurchase">The discounts of an early purchase as a JSON list, or null where there are none.</param>
public sealed record BookShape(string Book, string Digest, string By, string? EarlyPurchase = null);

/// <summary>A book that was read whole.</summary>
/// <param name="Shape">What its lines share.</param>
/// <param name="Contracts">Its contracts.</param>
/// <param name="Payments">Its payments.</param>
public sealed record OldBook(BookShape Shape, IReadOnlyList<BookContract> Contracts, IReadOnlyList<BookPayment> Payments)
{
    /// <summary>The key that stands for the book as a whole: that of its first contract.</summary>
    public string FirstKey => Contracts[0].Signing.Origin.Key;

    /// <summary>What every key of a book of this name begins with, whatever is in it.</summary>
    public string AnyKey => $"{TakenOver.Prefix}{Shape.Book}:";

    /// <summary>Reads all lines, or names every one that cannot be used.</summary>
    /// <param name="shape">What the lines share.</param>
    /// <param name="contracts">The lines of the file of contracts.</param>
    /// <param name="payments">Those of the file of payments; none where the shop kept none.</param>
    /// <param name="asOf">The day of the control totals: nothing is deemed paid after it.</param>
    public static (OldBook? Book, IReadOnlyList<BookFault> Faults) Read(BookShape shape, IReadOnlyList<BookRow> contracts, IReadOnlyList<BookRow> payments, LocalDate asOf)
    {
        var faults = new List<BookFault>();
        var signed = Take(contracts, row => BookContract.Read(row, shape), faults);
        var paid = Take(payments, row => BookPayment.Read(row, shape), faults);
        faults.AddRange(Doubled(signed));
        faults.AddRange(signed.Where(one => one.PaidThrough > asOf).Select(one => one.Row.Fault(
            "paidThrough", "the day is after that of the control totals; what was paid ahead has to come as payments.", NodaTime.Text.LocalDatePattern.Iso.Format(asOf))));
        faults.AddRange(Unfit(paid, signed));
        return faults.Count > 0 ? (null, faults) : (new OldBook(shape, signed, paid), []);
    }

    /// <summary>The contracts in the order in which they are to be signed: those that have ended first, since a unit may have gone out again.</summary>
    public IEnumerable<BookContract> InOrder() => Contracts.OrderBy(one => one.Ending is null).ThenBy(one => one.Ending?.On).ThenBy(one => one.Row.Line);

    private static List<T> Take<T>(IReadOnlyList<BookRow> rows, Func<BookRow, (T? Read, BookFault? Fault)> read, List<BookFault> faults)
        where T : class
    {
        var taken = new List<T>(rows.Count);
        foreach (var row in rows)
        {
            var (one, fault) = read(row);
            if (one is not null) { taken.Add(one); }
            else { faults.Add(fault!); }
        }

        return taken;
    }

    private static IEnumerable<BookFault> Doubled(List<BookContract> contracts)
    {
        foreach (var same in contracts.GroupBy(one => one.Signing.Contract, StringComparer.Ordinal).Where(same => same.Count() > 1))
        {
            var first = same.First().Row.Line;
            foreach (var one in same.Skip(1))
            {
                yield return one.Row.Fault("contract", new Refusal(RefusalCode.ContractAlreadySigned, $"Contract {same.Key} stands in line {first} already.", "contract"));
            }
        }
    }

    private static IEnumerable<BookFault> Unfit(List<BookPayment> payments, List<BookContract> contracts)
    {
        var known = new Dictionary<string, BookContract>(StringComparer.Ordinal);
        foreach (var one in contracts) { known.TryAdd(one.Signing.Contract, one); }
        var seen = new Dictionary<(string, LocalDate, ContractCommand), long>();
        foreach (var payment in payments)
        {
            if (!known.TryGetValue(payment.Payment.Contract, out var contract))
            {
                yield return payment.Row.Fault("contract", new Refusal(RefusalCode.ContractUnknown, $"The book has no contract {payment.Payment.Contract}.", "contract"));
            }
            else if (contract.HasDeemedPayments)
            {
                yield return payment.Row.Fault(
                    "contract", $"line {contract.Row.Line} of the contracts says how far it is paid, so its payments are deemed made; it is one or the other.");
            }
            else if (payment.Payment.Body is ContractCommand.Pay { Reference: not null } body
                && !seen.TryAdd((payment.Payment.Contract, payment.Payment.On, body), payment.Row.Line))
            {
                yield return payment.Row.Fault("reference", $"the same payment stands in line {seen[(payment.Payment.Contract, payment.Payment.On, body)]} already.");
            }
        }
    }
}
