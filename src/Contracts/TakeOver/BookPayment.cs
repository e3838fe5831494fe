using Contracts.Agreements;

namespace Contracts.TakeOver;

/// <summary>A payment of a book, and the command it becomes.</summary>
/// <param name="Row">Its line.</param>
/// <param name="Payment">The payment, dated as the book dates it.</param>
public sealed record BookPayment(BookRow Row, Command.OnContract Payment)
{
    /// <summary>Reads a line; exactly one of the two answers is given.</summary>
    /// <param name="row">The line.</param>
    /// <param name="shape">The book it is of.</param>
    public static (BookPayment? Payment, BookFault? Fault) Read(BookRow row, BookShape shape)
    {
        var line = BookContract.Fields(row, BookColumn.OfPayments);
        (line["do"], line["method"]) = ("pay", row.Find("method") ?? "unknown");
        var (payment, fault) = BookContract.Command(row, shape, line, BookColumn.OfPayments, "");
        return payment is null ? (null, fault) : (new BookPayment(row, payment), null);
    }
}
