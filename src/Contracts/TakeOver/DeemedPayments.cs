using Contracts.Agreements;
using Contracts.History;
using Contracts.Payments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.TakeOver;

/// <summary>
/// Payments of a contract whose book says only how far it is paid: one for each installment, made on the day it was due. They are marked as deemed, because
/// nobody knows the days on which the family really paid.
/// </summary>
public static class DeemedPayments
{
    /// <summary>The word that stands for the way in which money came, where nobody knows it.</summary>
    public const string Method = "unknown";

    /// <summary>The payments, or why there can be none; exactly one of the two answers is given.</summary>
    /// <param name="contract">The contract.</param>
    /// <param name="shape">The book it is of.</param>
    /// <param name="signed">The contract as it is signed, without a payment.</param>
    /// <param name="rates">Tax rates and law.</param>
    /// <param name="asOf">The day of the control totals.</param>
    public static (IReadOnlyList<Command.OnContract>? Payments, BookFault? Fault) Of(
        BookContract contract, BookShape shape, ContractHistory signed, ReferenceData rates, LocalDate asOf)
    {
        var payments = new List<Command.OnContract>();
        var last = LocalDate.Min(contract.PaidThrough ?? asOf, contract.Ending?.On ?? asOf);
        var left = contract.RentPaid;
        var charges = AccountFold.At(signed, rates, last)?.Charges ?? [];
        foreach (var due in charges.Where(IsRegular).GroupBy(charge => charge.DueOn).OrderBy(due => due.Key))
        {
            if (left == Money.Zero) { break; }
            var rent = Sum(due, ChargePart.Rent);
            var amount = Sum(due, ChargePart.Tax) + rent + Sum(due, ChargePart.Plan);
            if (left < rent)
            {
                // Part of an installment: its tax is paid before its rent, and its plan after it.
                (amount, rent) = (Sum(due, ChargePart.Tax) + left.Value, left.Value);
            }

            left -= rent;
            if (amount.IsPositive) { payments.Add(Pay(contract, shape, due.Key, amount)); }
        }

        return left > Money.Zero
            ? (null, contract.Row.Fault(
                "rentPaid", $"{left} more than the rent that fell due by {Iso(last)}; what was paid ahead has to come as payments.", (contract.RentPaid - left)?.ToString()))
            : (payments, null);
    }

    private static Command.OnContract Pay(BookContract contract, BookShape shape, LocalDate on, Money amount)
    {
        var mark = new TakenOver(shape.Book, shape.Digest, false, contract.Row.Line, TakenOver.DeemedOn(on));
        return new Command.OnContract(contract.Signing.Contract, on, new ContractCommand.Pay(amount, Method, null))
        {
            Origin = new CommandOrigin(mark.Key, shape.By, mark.Words),
        };
    }

    private static bool IsRegular(Charge charge) => charge.Kind is ChargeKind.Installment or ChargeKind.DeliveryTax && charge.ReversedOn is null;

    private static Money Sum(IEnumerable<Charge> charges, ChargePart part) => charges.Aggregate(Money.Zero, (sum, charge) => sum + charge.Of(part));

    private static string Iso(LocalDate day) => NodaTime.Text.LocalDatePattern.Iso.Format(day);
}
