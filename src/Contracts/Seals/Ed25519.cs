using Rfc8032 = Org.BouncyCastle.Math.EC.Rfc8032.Ed25519;

namespace Contracts.Seals;

/// <summary>
/// Ed25519 (RFC 8032, section 5.1), pure and without context. Signing needs no randomness: one key and one text have
/// one signature, so that a signer that was stopped signs the same bytes again. Keys are made elsewhere, of 32 random bytes.
/// </summary>
public static class Ed25519
{
    public const int SeedLength = 32;

    public const int PublicKeyLength = 32;

    public const int SignatureLength = 64;

    /// <summary>The public key of a private one.</summary>
    public static byte[] PublicKey(ReadOnlySpan<byte> seed)
    {
        var publicKey = new byte[PublicKeyLength];
        Rfc8032.GeneratePublicKey(Seed(seed), 0, publicKey, 0);
        return publicKey;
    }

    /// <summary>The signature of the message: 64 bytes.</summary>
    public static byte[] Sign(ReadOnlySpan<byte> seed, ReadOnlySpan<byte> message)
    {
        var signature = new byte[SignatureLength];
        Rfc8032.Sign(Seed(seed), 0, message.ToArray(), 0, message.Length, signature, 0);
        return signature;
    }

    /// <summary>Whether the signature is the key's over the message; false too for anything of another length.</summary>
    public static bool Verify(ReadOnlySpan<byte> publicKey, ReadOnlySpan<byte> message, ReadOnlySpan<byte> signature) =>
        publicKey.Length == PublicKeyLength && signature.Length == SignatureLength
        && Rfc8032.Verify(signature.ToArray(), 0, publicKey.ToArray(), 0, message.ToArray(), 0, message.Length);

    private static byte[] Seed(ReadOnlySpan<byte> seed) =>
        seed.Length == SeedLength ? seed.ToArray() : throw new ArgumentException("An Ed25519 seed has 32 bytes.", nameof(seed));
}
