using Contracts.Agreements;

namespace Contracts.Commands;

/// <summary>Reads what a person says a line of a bank's file is about.</summary>
internal static class EntryReader
{
    /// <summary>Either a contract, with or without more shares, or the payment that came back.</summary>
    public static Command.SettleEntry Settle(Fields fields, string entry, CommandOrigin origin)
    {
        var payment = fields.OptionalText("payment");
        var shares = HouseholdPaymentReader.Shares(fields);
        if (payment is not null)
        {
            if (shares.Length > 0) { throw new Unreadable(RefusalCode.FieldInvalid, "A payment that came back has no shares.", "shares"); }
            shares = [new EntryShare(CommandReader.Name(fields.Text("contract"), "contract"), Money.Zero)];
        }
        else if (shares.Length == 0)
        {
            throw new Unreadable(RefusalCode.FieldMissing, "'shares' says which contracts are paid and how much each, 'payment' which payment came back.", "shares");
        }

        return new Command.SettleEntry(entry, shares, payment, fields.OptionalText("code")) { Origin = origin };
    }
}
