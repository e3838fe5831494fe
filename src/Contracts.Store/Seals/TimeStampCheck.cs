using System.Formats.Asn1;
using System.Security.Cryptography;
using System.Security.Cryptography.Pkcs;
using System.Security.Cryptography.X509Certificates;
using NodaTime;

namespace Contracts.Store.Seals;

/// <summary>
/// Checks a time stamp of RFC 3161 over given bytes. The library's own check leaves open what no signature covers and whom to believe, so
/// on top of it: one spelling, no certificate or attribute that nothing rests on, a signer that is fit for this and nothing else, and a
/// chain to a root that was given, as of the time in the token. No network and no clock: a certificate that has ended since still holds.
/// </summary>
public static class TimeStampCheck
{
    /// <summary>Larger tokens are not read.</summary>
    public const int Largest = 64 * 1024;

    private const string TimeStamping = "1.3.6.1.5.5.7.3.8";

    private static readonly Dictionary<string, Func<byte[], byte[]>> Hashes = new(StringComparer.Ordinal)
    {
        ["2.16.840.1.101.3.4.2.1"] = SHA256.HashData,
        ["2.16.840.1.101.3.4.2.2"] = SHA384.HashData,
        ["2.16.840.1.101.3.4.2.3"] = SHA512.HashData,
    };

    /// <summary>The token in a file: a whole response (RFC 3161, 2.4.2) that was granted, or the token alone.</summary>
    public static (byte[]? Token, StampFault? Fault) TokenOf(byte[] file)
    {
        if (file.Length > Largest) { return (null, new StampFault("stamp-too-large", $"A time stamp has at most {Largest} bytes.")); }
        try
        {
            var outer = new AsnReader(file, AsnEncodingRules.DER);
            var sequence = outer.ReadSequence();
            outer.ThrowIfNotEmpty();
            // A token begins with the identifier of its kind, a response with a status.
            if (sequence.PeekTag() == Asn1Tag.ObjectIdentifier) { return Plain(file); }
            var status = sequence.ReadSequence();
            if (!status.TryReadInt32(out var said) || said is not (0 or 1)) { return (null, new StampFault("stamp-not-granted", "The authority did not grant the time stamp.")); }
            var token = sequence.ReadEncodedValue().ToArray();
            sequence.ThrowIfNotEmpty();
            return Plain(token);
        }
        catch (Exception broken) when (broken is AsnContentException or CryptographicException)
        {
            return (null, new StampFault("stamp-malformed", "The file is neither a time stamp response nor a token, in DER."));
        }
    }

    /// <summary>The token in its one spelling. Some makers list certificates in another order than DER has; no signature covers the order.</summary>
    private static (byte[]? Token, StampFault? Fault) Plain(byte[] token)
    {
        var signed = new SignedCms();
        signed.Decode(token);
        return (signed.Encode(), null);
    }

    /// <summary>What the token says of the bytes, or what is wrong with it.</summary>
    /// <param name="token">The token.</param>
    /// <param name="data">What was stamped.</param>
    /// <param name="roots">The roots to believe; none to check the token by itself, which does not say whose it is.</param>
    public static (TimeStamp? Stamp, StampFault? Fault) Verify(byte[] token, byte[] data, X509Certificate2Collection? roots)
    {
        if (token.Length > Largest) { return Wrong("stamp-too-large", $"A time stamp has at most {Largest} bytes."); }
        try
        {
            var signed = new SignedCms();
            signed.Decode(token);

            // Only what is spelt one way can be held against its bytes.
            if (!signed.Encode().AsSpan().SequenceEqual(token) || !TimeStampShape.IsPlain(token)) { return Wrong("stamp-malformed", "The token is not in its one spelling."); }
            if (!Rfc3161TimestampTokenInfo.TryDecode(signed.ContentInfo.Content, out var info, out var used) || used != signed.ContentInfo.Content.Length)
            {
                return Wrong("stamp-malformed", "What the token says cannot be read.");
            }

            if (signed.SignerInfos is not [{ Certificate: { } named }]) { return Wrong("stamp-signer-unfit", "The token does not carry the certificate that signed it."); }
            if (!Hashes.ContainsKey(signed.SignerInfos[0].DigestAlgorithm.Value ?? "") || !NamesSigner(signed.SignerInfos[0]))
            {
                return Wrong("stamp-hash-weak", "The signature is over SHA-1, or names its certificate by it.");
            }

            if (Unfit(named) is { } unfit) { return Wrong("stamp-signer-unfit", unfit); }
            if (info.Timestamp < named.NotBefore.ToUniversalTime() || info.Timestamp > named.NotAfter.ToUniversalTime())
            {
                return Wrong("stamp-outside-validity", "The certificate was not valid at the time in the token.");
            }

            // The library itself takes nothing from a signer that is not fit; the words above are ours.
            if (!Rfc3161TimestampToken.TryDecode(token, out var read, out used) || used != token.Length) { return Wrong("stamp-malformed", "The token cannot be read as one."); }
            return Verify(read, signed, data, roots);
        }
        catch (Exception broken) when (broken is CryptographicException or AsnContentException or ArgumentException)
        {
            return Wrong("stamp-malformed", "The token cannot be read as one.");
        }
    }

    private static (TimeStamp? Stamp, StampFault? Fault) Verify(
        Rfc3161TimestampToken token, SignedCms signed, byte[] data, X509Certificate2Collection? roots)
    {
        var info = token.TokenInfo;
        if (info.HashAlgorithmId.Value is not { } algorithm || !Hashes.TryGetValue(algorithm, out var hash))
        {
            return Wrong("stamp-hash-weak", "The token's digest is not one of SHA-256, SHA-384 and SHA-512.");
        }

        if (!info.GetMessageHash().Span.SequenceEqual(hash(data))) { return Wrong("stamp-of-other-data", "The token is over other bytes."); }
        if (!token.VerifySignatureForData(data, out var signer) || signer is null)
        {
            return Wrong("stamp-signature-wrong", "The token is not signed by the certificate it names.");
        }

        using (signer)
        {
            if (signer.Thumbprint != signed.SignerInfos[0].Certificate!.Thumbprint)
            {
                return Wrong("stamp-signature-wrong", "Another certificate than the one it names signed the token.");
            }

            var at = Instant.FromDateTimeOffset(info.Timestamp);
            if (signed.SignerInfos[0].UnsignedAttributes.Count > 0)
            {
                return Wrong("stamp-carries-more", "The token has attributes that nobody signed.");
            }

            if (Chain(signer, signed.Certificates, info.Timestamp, roots) is { } broken) { return (null, broken); }
            return (new TimeStamp(at, signer.Subject, info.PolicyId.Value ?? "", roots is { Count: > 0 }), null);
        }
    }

    /// <summary>Whether the signature is over the name of its certificate as a digest of RFC 5035 (ESSCertIDv2), which is SHA-256 or says which.</summary>
    private static bool NamesSigner(SignerInfo signer) =>
        signer.SignedAttributes.Cast<CryptographicAttributeObject>().Any(attribute => attribute.Oid.Value == "1.2.840.113549.1.9.16.2.47");

    /// <summary>Why the certificate may not sign time stamps (RFC 3161, 2.3), or null.</summary>
    private static string? Unfit(X509Certificate2 signer)
    {
        var purpose = signer.Extensions.OfType<X509EnhancedKeyUsageExtension>().ToList();
        if (purpose is not [{ Critical: true, EnhancedKeyUsages: [{ Value: TimeStamping }] }]) { return "The certificate is not for time stamps alone, said critically."; }
        if (signer.Extensions.OfType<X509BasicConstraintsExtension>().Any(basic => basic.CertificateAuthority))
        {
            return "The certificate is that of an authority over certificates.";
        }

        const X509KeyUsageFlags Allowed = X509KeyUsageFlags.DigitalSignature | X509KeyUsageFlags.NonRepudiation;
        return signer.Extensions.OfType<X509KeyUsageExtension>().ToList() is [var usage]
            && (usage.KeyUsages & ~Allowed) == 0 && usage.KeyUsages.HasFlag(X509KeyUsageFlags.DigitalSignature)
            ? null
            : "The certificate does not say that its key is for signatures and nothing else.";
    }

    private static StampFault? Chain(X509Certificate2 signer, X509Certificate2Collection carried, DateTimeOffset at, X509Certificate2Collection? roots)
    {
        if (roots is null or { Count: 0 }) { return null; }
        using var chain = new X509Chain();
        chain.ChainPolicy.TrustMode = X509ChainTrustMode.CustomRootTrust;
        chain.ChainPolicy.CustomTrustStore.AddRange(roots);
        chain.ChainPolicy.ExtraStore.AddRange(carried);
        chain.ChainPolicy.RevocationMode = X509RevocationMode.NoCheck;
        chain.ChainPolicy.DisableCertificateDownloads = true;
        chain.ChainPolicy.VerificationTime = at.UtcDateTime;
        chain.ChainPolicy.VerificationTimeIgnored = false;
        chain.ChainPolicy.ApplicationPolicy.Add(new Oid(TimeStamping));
        if (!chain.Build(signer))
        {
            var why = string.Join(", ", chain.ChainStatus.Select(status => status.Status));
            return new StampFault("stamp-root-unknown", $"The certificate does not lead to a root that was given ({why}).");
        }

        var used = chain.ChainElements.Select(element => element.Certificate.RawData).ToList();
        return carried.Any(one => !used.Exists(raw => raw.AsSpan().SequenceEqual(one.RawData)))
            ? new StampFault("stamp-carries-more", "The token carries a certificate that nothing rests on.")
            : null;
    }

    private static (TimeStamp? Stamp, StampFault? Fault) Wrong(string code, string detail) => (null, new StampFault(code, detail));
}
