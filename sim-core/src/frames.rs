//! Earth, body and builder's axes; the attitude quaternion; angles for people (MODEL.md § 1).

use crate::number::Number;
use nalgebra::{Matrix3, Vector3, Vector4};

/// Body-to-earth rotation of a quaternion (scalar first) of any length but zero.
///
/// Units: none. Valid for: every attitude.
#[inline(always)]
pub fn rotation<T: Number>(quaternion: &Vector4<T>) -> Matrix3<T> {
    let [w, x, y, z] = [quaternion[0], quaternion[1], quaternion[2], quaternion[3]];
    let (ww, xx, yy, zz) = (w * w, x * x, y * y, z * z);
    let scale = T::one() / (ww + xx + yy + zz);
    let twice = scale + scale;
    if T::FUSED {
        let (by_x, by_y, by_z) = (x * twice, y * twice, z * twice);
        let (xy, xz, yz) = (x * by_y, x * by_z, y * by_z);
        let (less_x, less_y) = (x.times_from(by_x, T::one()), y.times_from(by_y, T::one()));
        return Matrix3::new(
            z.times_from(by_z, less_y),
            w.times_from(by_z, xy),
            w.times_plus(by_y, xz),
            w.times_plus(by_z, xy),
            z.times_from(by_z, less_x),
            w.times_from(by_x, yz),
            w.times_from(by_y, xz),
            w.times_plus(by_x, yz),
            y.times_from(by_y, less_x),
        );
    }
    Matrix3::new(
        (ww + xx - yy - zz) * scale,
        x.times_plus(y, -(w * z)) * twice,
        x.times_plus(z, w * y) * twice,
        x.times_plus(y, w * z) * twice,
        (ww - xx + yy - zz) * scale,
        y.times_plus(z, -(w * x)) * twice,
        x.times_plus(z, -(w * y)) * twice,
        y.times_plus(z, w * x) * twice,
        (ww - xx - yy + zz) * scale,
    )
}

/// Rate of the quaternion (scalar first, 1/s) under body rates (rad/s): ½ q ⊗ (0, ω).
#[inline(always)]
pub fn quaternion_rate<T: Number>(quaternion: &Vector4<T>, rates: &Vector3<T>) -> Vector4<T> {
    let [w, x, y, z] = [quaternion[0], quaternion[1], quaternion[2], quaternion[3]];
    let half = T::constant(0.5);
    let (p, q, r) = (rates.x * half, rates.y * half, rates.z * half);
    Vector4::new(
        -z.times_plus(r, x.times_plus(p, y * q)),
        z.times_from(q, w.times_plus(p, y * r)),
        x.times_from(r, w.times_plus(q, z * p)),
        y.times_from(p, w.times_plus(r, x * q)),
    )
}

/// Matrix of v×, for any number type.
#[inline(always)]
pub fn cross_matrix<T: Number>(v: &Vector3<T>) -> Matrix3<T> {
    let zero = T::zero();
    Matrix3::new(zero, -v.z, v.y, v.z, zero, -v.x, -v.y, v.x, zero)
}

/// Euler angles 3-2-1, for people only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EulerAngles {
    /// Roll (bank) φ, rad, right wing down positive.
    pub roll_rad: f64,
    /// Pitch θ, rad: elevation of the body x axis over the horizon.
    pub pitch_rad: f64,
    /// Yaw (heading of the body x axis) ψ, rad from north to east.
    pub yaw_rad: f64,
}

impl EulerAngles {
    /// Angles of a body-to-earth rotation.
    pub fn of(r: &Matrix3<f64>) -> Self {
        EulerAngles {
            roll_rad: libm::atan2(r[(2, 1)], r[(2, 2)]),
            pitch_rad: libm::atan2(-r[(2, 0)], libm::hypot(r[(0, 0)], r[(1, 0)])),
            yaw_rad: libm::atan2(r[(1, 0)], r[(0, 0)]),
        }
    }

    /// The quaternion (scalar first, unit length) of these angles.
    pub fn quaternion(&self) -> Vector4<f64> {
        quaternion_of_euler(self.roll_rad, self.pitch_rad, self.yaw_rad)
    }
}

/// Quaternion (scalar first, unit length) of Euler angles 3-2-1, rad.
pub fn quaternion_of_euler<T: Number>(roll: T, pitch: T, yaw: T) -> Vector4<T> {
    let half = T::constant(0.5);
    let (sr, cr) = (roll * half).sin_cos();
    let (sp, cp) = (pitch * half).sin_cos();
    let (sy, cy) = (yaw * half).sin_cos();
    Vector4::new(
        cr * cp * cy + sr * sp * sy,
        sr * cp * cy - cr * sp * sy,
        cr * sp * cy + sr * cp * sy,
        cr * cp * sy - sr * sp * cy,
    )
}

/// Quaternion product a ⊗ b, scalar first.
pub fn multiply(a: &Vector4<f64>, b: &Vector4<f64>) -> Vector4<f64> {
    let (av, bv) = (a.yzw(), b.yzw());
    let v = bv * a[0] + av * b[0] + av.cross(&bv);
    Vector4::new(a[0] * b[0] - av.dot(&bv), v.x, v.y, v.z)
}

trait Yzw {
    fn yzw(&self) -> Vector3<f64>;
}
impl Yzw for Vector4<f64> {
    fn yzw(&self) -> Vector3<f64> {
        Vector3::new(self[1], self[2], self[3])
    }
}

/// A point in builder's axes: station aft of the nose datum, right of the centre line, up from the reference line, m.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BuilderPoint {
    /// Aft of the nose datum, m.
    pub station_m: f64,
    /// Right of the centre line, m.
    pub right_m: f64,
    /// Up from the reference line, m.
    pub up_m: f64,
}

impl BuilderPoint {
    /// A point from its three coordinates, m.
    pub fn new(station_m: f64, right_m: f64, up_m: f64) -> Self {
        BuilderPoint {
            station_m,
            right_m,
            up_m,
        }
    }

    /// Body coordinates (x forward, y right, z down, m) when the balance point is at `balance`.
    pub fn in_body(&self, balance: &BuilderPoint) -> Vector3<f64> {
        Vector3::new(
            balance.station_m - self.station_m,
            self.right_m - balance.right_m,
            balance.up_m - self.up_m,
        )
    }

    /// The same point on the other side of the centre line.
    pub fn mirrored(&self) -> Self {
        BuilderPoint {
            right_m: -self.right_m,
            ..*self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{Rotation3, UnitQuaternion};

    // Reference: nalgebra's own rotation types, a general-purpose linear-algebra library.
    #[test]
    fn rotation_and_angles_agree_with_nalgebra() {
        for (roll, pitch, yaw) in [(0.3, -0.4, 2.0), (-2.9, 1.2, -0.1), (0.0, 0.0, 0.0)] {
            let angles = EulerAngles {
                roll_rad: roll,
                pitch_rad: pitch,
                yaw_rad: yaw,
            };
            let q = angles.quaternion();
            let reference = UnitQuaternion::from_euler_angles(roll, pitch, yaw);
            assert!(
                (rotation(&(q * 1.7)) - reference.to_rotation_matrix().matrix()).norm() < 1e-14
            );
            let back = EulerAngles::of(Rotation3::from_euler_angles(roll, pitch, yaw).matrix());
            assert!((back.roll_rad - roll).abs() < 1e-14);
            assert!((back.pitch_rad - pitch).abs() < 1e-14);
            assert!((back.yaw_rad - yaw).abs() < 1e-14);
        }
    }

    #[test]
    fn quaternion_rate_is_the_limit_of_a_small_turn() {
        let q = EulerAngles {
            roll_rad: 0.4,
            pitch_rad: 0.9,
            yaw_rad: -1.1,
        }
        .quaternion();
        let rates = Vector3::new(0.7, -1.3, 2.1);
        let h = 1e-6;
        let turn = UnitQuaternion::from_scaled_axis(rates * h);
        let small = Vector4::new(turn.w, turn.i, turn.j, turn.k);
        let difference = (multiply(&q, &small) - q) / h;
        assert!((difference - quaternion_rate(&q, &rates)).norm() < 1e-5);
    }

    #[test]
    fn builders_axes_become_body_axes() {
        let balance = BuilderPoint::new(0.1, 0.0, 0.01);
        let ahead_right_above = BuilderPoint::new(0.04, 0.02, 0.05);
        let r = ahead_right_above.in_body(&balance);
        assert!((r - Vector3::new(0.06, 0.02, -0.04)).norm() < 1e-15);
    }
}
