using System.Security.Cryptography;
using System.Text;
using NodaTime;

namespace Contracts.Bank;

/// <summary>One line of a bank's statement, of its advice, or of a card processor's settlement.</summary>
public sealed record BankEntry
{
    /// <summary>Its name: the same for the same line in whatever file it comes, where the bank gave it a reference.</summary>
    public required string Id { get; init; }

    /// <summary>The reference that whoever keeps the account gave the line, or null where it gave none.</summary>
    public string? Reference { get; init; }

    /// <summary>The last four characters of the shop's account; more of its number is never kept.</summary>
    public string Account { get; init; } = "";

    /// <summary>The day the bank booked it.</summary>
    public required LocalDate BookedOn { get; init; }

    /// <summary>The day from which it counts for interest, where the file says so.</summary>
    public LocalDate? ValueOn { get; init; }

    /// <summary>How much was booked, above zero whichever way it went.</summary>
    public required Money Amount { get; init; }

    /// <summary>Whether money came in.</summary>
    public required bool IsCredit { get; init; }

    /// <summary>How the money travelled, as the file or its mapping says: <c>bank</c>, <c>ach</c>, <c>card</c>, <c>check</c>.</summary>
    public string Method { get; init; } = "bank";

    /// <summary>The reference that whoever sent the money gave it and that travelled along (ISO 20022: end-to-end identification).</summary>
    public string? EndToEnd { get; init; }

    /// <summary>What was written with it. It may name people, so it is never part of the history.</summary>
    public string Text { get; init; } = "";

    /// <summary>Why a payment came back, as the file says it, or null where none did.</summary>
    public string? ReturnCode { get; init; }

    /// <summary>Of a card settlement: what was taken before the processor's fee; <see cref="Amount"/> is what arrived.</summary>
    public Money? Gross { get; init; }

    /// <summary>Of a card settlement: the processor's fee.</summary>
    public Money? Fee { get; init; }

    /// <summary>Why the line as it stands cannot be used, though its amount can be read; or null.</summary>
    public string? Fault { get; init; }

    /// <summary>Where in the file it stands, for a person to find it.</summary>
    public required string Place { get; init; }

    /// <summary>The amount with its sign: what it adds to the account.</summary>
    public Money Signed => IsCredit ? Amount : Money.Zero - Amount;

    /// <summary>Whether another file with the same line can be told to hold the same line.</summary>
    public bool IsRecognisable { get; init; } = true;

    /// <summary>What was paid: of a card settlement what was taken before the processor's fee, else what arrived.</summary>
    public Money Paid => Gross ?? Amount;

    /// <summary>
    /// The name of a line with a reference: of the account, the reference, the day and the amount with its sign. Banks give a reference again, above all
    /// when money goes back: a line is the same only when it says the same.
    /// </summary>
    /// <param name="account">The whole number of the account, as the file has it; only a hash of it goes on.</param>
    /// <param name="reference">The account servicer's reference.</param>
    /// <param name="bookedOn">The day the bank booked it.</param>
    /// <param name="signed">What it adds to the account.</param>
    public static string IdOf(string account, string reference, LocalDate bookedOn, Money signed) =>
        Named($"{account}\n{reference}\n{NodaTime.Text.LocalDatePattern.Iso.Format(bookedOn)}\n{signed}");

    /// <summary>The name of a line without one: of the file and the place in it.</summary>
    /// <param name="fileDigest">The file's SHA-256.</param>
    /// <param name="number">The place of the line in it, from one.</param>
    public static string IdIn(string fileDigest, long number) => Named($"{fileDigest}\n\n{number}");

    private static string Named(string text) => "B-" + Convert.ToHexString(SHA256.HashData(Encoding.UTF8.GetBytes(text)))[..20];
}
