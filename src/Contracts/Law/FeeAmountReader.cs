namespace Contracts.Law;

/// <summary>Reads the amount of a fee as an act puts it together.</summary>
internal static class FeeAmountReader
{
    public static FeeAmount Read(PackFields fields)
    {
        var amount = Read(fields.Text("op"), fields);
        fields.End();
        return amount;
    }

    private static FeeAmount Read(string op, PackFields fields)
    {
        switch (op)
        {
            case "flat":
                if (!fields.Has("usd")) { fields.Fault("usd", "is missing."); }
                return new FeeAmount.Flat(fields.Amount("usd"));
            case "percent-of-payment" or "percent-of-delinquent":
                if (!fields.Has("percent")) { fields.Fault("percent", "is missing."); }
                return new FeeAmount.Percent(fields.Share("percent", Fraction.Zero) * Fraction.Of(1, 100));
            case "multiple-of-payment":
                if (!fields.Has("factor")) { fields.Fault("factor", "is missing."); }
                return new FeeAmount.Percent(fields.Share("factor", Fraction.Zero));
            case "greater-of" or "lesser-of":
                var parts = fields.Objects("of").Select(Read).ToList();
                if (parts.Count == 0) { fields.Fault("of", "must have amounts to choose from."); }
                return new FeeAmount.OneOf(op == "greater-of", parts, fields.Amount("atLeast"));
            case "reasonable" or "as-agreed" or "set-by-rule" or "original-delivery-fee" or "per-missed-payment" or "by-item-count":
                fields.Keep("measure", "rule", "usd", "upToFiveItems", "moreItems");
                return new FeeAmount.NoFigure(op);
            default:
                foreach (var field in fields.Item.EnumerateObject()) { fields.Keep(field.Name); }
                if (op.Length > 0) { fields.Fault("op", $"'{op}' is not a way to put an amount together."); }
                return new FeeAmount.NoFigure(op);
        }
    }
}
